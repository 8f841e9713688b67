"""What people write, frozen and self-validating: parts, routes, rates, quotes, studies. No arithmetic."""
