"""Pure, vectorised, sourced formulas. They know numbers only: no records, no files."""
