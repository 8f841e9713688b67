"""The commands of a buyer: check a quote sheet, write an entry sheet, read a delivery log, compare suppliers."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import quote_files
from typer.testing import CliRunner

from costmodel import cli
from costmodel.reading import read_quotes

DATA = Path(__file__).parent.parent / "data"
CLAMP = str(DATA / "studies" / "saddle-clamp.toml")
LOG = str(DATA / "logs" / "saddle-clamp-overseas-a.csv")


def ran(*arguments: str, status: int = 0) -> Any:
    result = CliRunner().invoke(cli.app, list(arguments), env={"COLUMNS": "110"})
    assert "Traceback" not in result.output
    assert result.exit_code == status, result.output
    return result


def flat(text: str) -> str:
    return " ".join(text.split())


def test_check_shows_each_cell_that_needed_understanding() -> None:
    told = json.loads(
        ran("check", str(quote_files.KEPT / "messy.xlsx"), "--currency", "USD", "--json").stdout
    )
    assert told["ok"]
    cells = {row[0]: row[1:] for row in told["cells"][0]["rows"]}
    assert cells["Offers!L5"][:4] == ["far-a", "equipment", "2.400,00 \u20ac", "2400.00"]
    assert ["messy.xlsx", "passed over", "sheet Contacts: no columns of an offer"] in told["understood"][
        "rows"
    ]


def test_check_asks_with_sheet_and_cell_and_still_shows_the_rest(tmp_path: Path) -> None:
    book = quote_files.messy()
    book["Offers"]["J5"] = "14-16"
    book.save(tmp_path / "quotes.xlsx")
    result = ran("check", str(tmp_path / "quotes.xlsx"), "--currency", "USD", status=2)
    assert "Offers!J5 (far-a, price)" in result.stderr
    assert "one number" in " ".join(result.stderr.split())
    assert "Near B" in result.stdout


def test_check_shows_what_an_offer_costs_how_long_it_takes_and_when_it_is_paid() -> None:
    told = json.loads(ran("check", str(DATA / "quotes" / "saddle-clamp.csv"), "--json").stdout)
    offers = [row[2] for row in told["understood"]["rows"] if row[1] == "offer"]
    prices = {row[2] for row in told["understood"]["rows"] if row[1] == "prices"}
    times = {row[2] for row in told["understood"]["rows"] if row[1] == "times"}
    faults = {row[2] for row in told["understood"]["rows"] if row[1] == "faults"}
    assert len(offers) == len(prices) == len(times) == len(faults) == 3
    quotes = read_quotes(DATA / "quotes" / "saddle-clamp.csv", "USD")
    for quote in quotes.values():
        price = next(words for words in prices if words.startswith(f"{quote.title}: "))
        read = [tuple(map(float, pair)) for pair in re.findall(r"([\d.]+) from (\d+)", price)]
        assert read == [(tier.price, tier.quantity) for tier in quote.tiers.values()]
        assert f"{quote.currency} a part" in price
        assert f"least order {float(quote.minimum_order):g}" in price
        time = next(words for words in times if words.startswith(f"{quote.title}: "))
        assert f"lead time {float(quote.lead_time):.0f} d" in time
        assert (
            f"{abs(float(quote.balance_days)):g} d {'before' if quote.balance_days > 0 else 'after'}" in time
        )
        fault = next(words for words in faults if words.startswith(f"{quote.title}: "))
        assert f"{100 * float(quote.rejected_at_assembly):g} % at assembly" in fault


def test_check_lists_no_cell_that_only_takes_the_unit_of_its_header(tmp_path: Path) -> None:
    ran("entry-sheet", "-o", str(tmp_path / "out.xlsx"), "--study", CLAMP, "--with-offers")
    told = json.loads(ran("check", str(tmp_path / "out.xlsx"), "--json").stdout)
    assert told["cells"] == []
    told = json.loads(ran("check", str(quote_files.KEPT / "messy.xlsx"), "--json").stdout)
    listed = {row[0] for row in told["cells"][0]["rows"]}
    assert {
        "Offers!L5",
        "Offers!I6",
        "Offers!T5",
        "Offers!U5",
    } <= listed  # signs, notes, terms, decimal commas
    assert not listed & {"Offers!P5", "Offers!R5", "Offers!S5"}  # 0.213 below "Weight (kg)"


def test_check_says_which_quantities_are_not_quoted(small_copy: Path) -> None:
    book = quote_files.messy()
    book["Offers"]["I5"] = "POA"
    path = small_copy / "quotes.xlsx"
    book.save(path)
    assert 'not quoted Far A from 500 parts: "POA" in Offers!I5' in flat(ran("check", str(path)).stdout)
    quotes = small_copy / "quotes.csv"
    quotes.write_text(quotes.read_text().replace(",500 part,22.10,", ",500 part,on request,"))
    told = flat(ran("check", str(small_copy / "study.toml")).stdout)
    assert 'not quoted Near B from 500 parts: "on request" in row 6, cell K6' in told
    told = flat(ran("compare", str(small_copy / "study.toml"), "--offers", str(path)).stdout)
    assert 'not quoted: Far A from 500 parts: "POA" in Offers!I5; Near B from 1000 parts' in told


def test_check_takes_a_declared_decimal_mark(tmp_path: Path) -> None:
    text = (Path(__file__).parent / "small" / "quotes.csv").read_text(encoding="utf-8")
    path = tmp_path / "quotes.csv"
    path.write_text(text.replace("2400", '"2,400"'), encoding="utf-8")
    ran("check", str(path), "--currency", "USD", status=2)
    ran("check", str(path), "--currency", "USD", "--decimal", "point")


def test_the_entry_sheet_is_written_and_loads_back(tmp_path: Path) -> None:
    path = tmp_path / "offers.xlsx"
    ran("entry-sheet", "-o", str(path), "--study", CLAMP, "--with-offers")
    assert list(read_quotes(path, "USD")) == ["overseas-a", "overseas-b", "regional-c"]
    ran("check", str(path))
    ran("entry-sheet", "-o", str(tmp_path / "blank.xlsx"))
    assert ran("check", str(tmp_path / "blank.xlsx"), status=2).stderr.count("remedy") == 1
    ran("entry-sheet", "--with-offers", status=2)


def test_a_log_is_shown_alone_and_beside_its_offer() -> None:
    assert "rejected at most (95 %)" in ran("deliveries", LOG).stdout
    told = json.loads(ran("deliveries", LOG, "--study", CLAMP, "--quote", "overseas-a", "--json").stdout)
    assert list(told) == ["log", "changes", "stock-status-quo"]
    assert ["deliveries", "31", ""] in told["log"]["rows"]
    assert (
        ran("deliveries", LOG, "--study", CLAMP, "--quote", "nobody", status=2).stderr.count("overseas-a")
        == 1
    )


LAYERS = ("price", "freight", "duty and entry", "payment", "faults", "supplier", "stock", "faults in use")


def test_compare_shows_every_layer_of_every_supplier_in_the_order_of_spending() -> None:
    tables = json.loads(ran("compare", CLAMP, "--json").stdout)["tables"]
    landed = tables["landed"]
    rows = landed["rows"][: -landed["totals"]]
    assert tuple(dict.fromkeys(row[0] for row in rows)) == LAYERS
    for column in range(2, len(landed["columns"])):
        layers = [row[column] for row in rows if not isinstance(row[column], str)]
        assert sum(layers) == pytest.approx(landed["rows"][-landed["totals"]][column])
    assert any("Cleared: base-aluminium-part by customs broker" in note for note in landed["notes"])
    assert "Duty layers and fees are as entered by the user, never decided here." in landed["notes"]
    assert {"order-sizes", "soft-factors"} <= set(tables)
