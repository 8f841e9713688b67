"""Quote files as buyers keep them, made by openpyxl and by LibreOffice. Run as a script it writes tests/quotes/."""

from __future__ import annotations

import datetime
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.worksheet.worksheet import Worksheet

KEPT = Path(__file__).parent / "quotes"
HEADER = (
    "Supplier", "Part", "Rev", "Currency", "Incoterms 2020", "Valid from", "Valid until", "Unit price", None, None,
    "MOQ", "Tooling", "FAI", "Packing", "Lane", "Weight (kg)", "Volume (l)", "Lead time (weeks)", "lead_time_sd [d]",
    "Payment terms", "rejected_at_receipt [%]", "rejected_at_assembly [%]", "rejected_in_field [%]", "Source", "Status",
    "Remarks",
)  # fmt: skip
QUANTITIES = (200, "500+", "from 1000")
CLEAR_A = (
    "Far A", "bracket", "A", "EUR", "FCA seller's yard", datetime.date(2026, 4, 1), "31.12.2026", "17,60 \u20ac", 15.9,
    "14,80", "200 pcs", "2.400,00 \u20ac", 350, "incl.", "sea", 0.213, 0.24, 14, "23", "net 30", "2,6", 0.5, "0,04 %",
    "letter of 3 April", "quoted", "12 weeks after approval of the drawing",
)  # fmt: skip
CLEAR_B = (
    "Near B", "bracket", "A", "USD", "DAP our dock", "1 May 2026", "2026-11-14", "$25.40", "$23.30 (valid all year)",
    None, "100", 2900, 420, "-", None, 0.21, 0.24, "5", "7", "30 days net", 0.9, 0.2, 0.02, "visit", "quoted", None,
)  # fmt: skip


def messy(rows: tuple[tuple[Any, ...], ...] = (CLEAR_A, CLEAR_B)) -> Workbook:
    """Title above, merged headers in two lines, prices side by side, a second sheet, a footnote, a comment."""
    book = Workbook()
    sheet: Worksheet = book.active  # type: ignore[assignment]
    sheet.title = "Offers"
    sheet.append(["Offers for the bracket, collected by purchasing"])
    sheet.append([])
    sheet.append(list(HEADER))
    sheet.append([None] * 7 + list(QUANTITIES))
    for column in range(1, len(HEADER) + 1):
        if not 8 <= column <= 10:
            sheet.merge_cells(start_row=3, end_row=4, start_column=column, end_column=column)
    sheet.merge_cells("H3:J3")
    for row in rows:
        sheet.append(list(row))
    sheet["I5"].number_format = "#,##0.00 [$\u20ac-407]"
    sheet["H6"].comment = Comment("spoke to him on the phone", "buyer")
    sheet.append([])
    sheet.append(["all prices without value added tax"])
    book.create_sheet("Contacts").append(["our buyer", "room 12"])
    return book


def ladder() -> Workbook:
    """One row a quantity, the supplier in one merged cell, numbers shown with a decimal comma."""
    book = Workbook()
    sheet: Worksheet = book.active  # type: ignore[assignment]
    sheet.title = "Angebote"
    header = [name for name in HEADER if name and name not in ("Unit price", "Remarks")]
    sheet.append([*header, "Qty", "Unit price (EUR)"])
    fixed = [value for name, value in zip(HEADER, CLEAR_A, strict=True) if name in header]
    for quantity, price in ((200, 1017.6), (500, 1015.9), (2000, 1014.8)):
        sheet.append([*fixed, quantity, price])
        sheet.cell(sheet.max_row, len(header) + 2).number_format = "[$-407]#,##0.00"
    sheet.merge_cells("A2:A4")
    return book


def soffice() -> str | None:
    """LibreOffice's command, where it is installed."""
    return shutil.which("soffice") or shutil.which("libreoffice")


def converted(path: Path, kind: str, folder: Path) -> Path:
    """A file saved anew by LibreOffice as another kind."""
    command = soffice()
    assert command is not None
    with tempfile.TemporaryDirectory() as profile:
        call = [command, "--headless", f"-env:UserInstallation=file://{profile}", "--convert-to", kind]
        done = subprocess.run(
            [*call, "--outdir", str(folder), str(path)], capture_output=True, timeout=180, check=False
        )
    result = folder / f"{path.stem}.{kind.partition(':')[0]}"
    assert result.is_file(), done.stderr.decode(errors="replace")
    return result


SEMICOLONS = "csv:Text - txt - csv (StarCalc):59,34,76,1,,0,false,true"
"""Parted by semicolons, UTF-8, cells as shown: how offices of much of Europe save CSV."""


def office_files(folder: Path) -> dict[str, Path]:
    """The same sheets as LibreOffice saves them: through ODS back to XLSX, and CSV with semicolons."""
    made = {}
    for name, book in (("messy", messy()), ("ladder", ladder()), ("awkward", awkward())):
        first = folder / "in" / f"{name}.xlsx"
        first.parent.mkdir(exist_ok=True)
        book.save(first)
        ods = converted(first, "ods", folder)
        made[name] = converted(ods, "xlsx", folder)
        ods.unlink()
    made["ladder-csv"] = converted(made["ladder"], SEMICOLONS, folder)
    return made


AWKWARD = """
Supplier|Part no|Rev|Incoterms 2020|Valid until|Quote date|MOQ|Price at quantity|||Tooling|Lead time (weeks)|\
Lead time spread [d]|Payment terms|Weight each (lb)|Volume each [l]|Rejects [%]|rejected at assembly [%]|\
rejected in field [%]|Source|Status|Remarks
|||||||500|1,000|2,500+
Nord Dreher|shaft|B|DAP our dock|30.09.2026|01.06.2026|500|\u20ac 7,10|\u20ac 6,85|-|\u20ac 1.800,00|8|10|\
30 days net|0.24|0.06|1|0.2|0.05|letter|quoted|w/o hardening
Third Shop|shaft|B|EXW Third yard|2026-12-31|June 3, 2026|1000|no bid|6.95 USD|6.60 USD|included|42 days|9|\
net 60|110 g|0.06|1|0.2|0.05|by phone|guess|call back
"""


def awkward() -> Workbook:
    """A comparison as a buyer types it: merged price over quantities, signs instead of a currency column, no bids."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "RFQ 2026-07"
    sheet["A1"] = "Offers for the shaft"
    for number, line in enumerate(AWKWARD.strip().splitlines(), start=3):
        for at, text in enumerate(line.split("|"), start=1):
            if text:
                sheet.cell(number, at, text)
    sheet.merge_cells("H3:J3")
    return book


if __name__ == "__main__":
    KEPT.mkdir(exist_ok=True)
    for old in KEPT.glob("*.*"):
        old.unlink()
    office_files(KEPT)
    for name in ("messy", "ladder", "awkward"):
        (KEPT / f"{name}.xlsx").rename(KEPT / f"{name}-office.xlsx")
        (KEPT / "in" / f"{name}.xlsx").rename(KEPT / f"{name}.xlsx")
    (KEPT / "in").rmdir()
