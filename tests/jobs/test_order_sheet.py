"""Order sheets: many jobs from one CSV or XLSX file, and every fault of every row told by its cell."""

from __future__ import annotations

import csv
import datetime as dt
import io
import random
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from cutpath import pipeline
from cutpath.ceilings import SHEET_ROWS
from cutpath.cli import cutpath
from cutpath.errors import Refused, Severity, faults
from cutpath.jobs import read_jobs
from cutpath.jobs.order_sheet.cells import SHEET, is_sheet
from cutpath.jobs.order_sheet.columns import COLUMNS, KINDS, taken
from cutpath.jobs.order_sheet.template import EXAMPLES, notes, template_csv, template_xlsx
from cutpath.profiles import coverings
from cutpath.reports.account.cutting_list import cutting_list, cutting_list_csv

WORDS = [column.word for column in COLUMNS]
HEAD = ["Customer", "Kind", "Quantity", "Length", "Width"]
GOOD = ["J Example", "rectangle", 2, 325, 175]


def as_csv(folder: Path, *rows, separator=",", encoding="utf-8") -> Path:
    path = folder / "orders.csv"
    with path.open("w", newline="", encoding=encoding) as out:
        csv.writer(out, delimiter=separator).writerows(rows)
    return path


def as_book(folder: Path, *rows, change=None, title=SHEET) -> Path:
    path, book = folder / "orders.xlsx", openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    if change:
        change(book.active)
    book.save(path)
    return path


WRITERS = pytest.mark.parametrize("write", [as_csv, as_book])


def told(path: Path) -> list[tuple[str, str]]:
    """Code and place of every fault of a sheet."""
    _, findings = read_jobs([path])
    return [(f.code, f.where.partition(": ")[2]) for f in findings if f.severity is Severity.FAULT]


def only(path: Path):
    _, findings = read_jobs([path])
    (fault,) = [f for f in findings if f.severity is Severity.FAULT]
    return fault


@WRITERS
def test_a_cell_under_no_header_is_not_passed_over(write, tmp_path):
    head = ("Customer", "Kind", "Length", "Width")
    one_too_many = ("A Example", "rectangle", 1, 200, 175)  # 1,200 without quotes
    faults = told(write(tmp_path, head, one_too_many))
    assert ("CP107", True) in [(code, "row 2, column E" in where) for code, where in faults]
    assert told(write(tmp_path, (*head, "[price]"), ("A Example", "rectangle", 1200, 175, 3))) == []


@WRITERS
def test_rows_become_jobs_by_what_they_have_in_common(write, tmp_path):
    rows = [[example.get(word) for word in WORDS] for example in EXAMPLES]
    planned = pipeline.plan([write(tmp_path, WORDS, *rows)])
    assert [f for f in planned.findings if f.severity is not Severity.NOTE] == []
    counter, roof = planned.jobs
    assert (counter.name, counter.customer, counter.order) == ("J Example, order 1042", "J Example", "1042")
    assert (counter.due, counter.notes) == ("Friday", "collects")
    assert (roof.site, len(roof.details)) == ("Chapel roof", 5)
    assert {detail.head.lead.code for detail in counter.details} == {4}
    plain, folded = (p for p in planned.pieces if p.job == counter.name)
    assert (plain.quantity, max(plain.pattern.outline)) == (12, (325, 175))
    assert [(fold.way, fold.start[1]) for fold in folded.pattern.folds] == [("back", 25), ("forward", 100)]
    assert max(folded.pattern.outline) == (1200, 250)


ROOF = ["Customer", "Kind", "Quantity", "Length", "Width", "Cover", "Pitch", "Covering"]
TILED = ["A", "soakers", "", 3600, "", "", 35, "plain tile 265"]
LOOSE = ["A", "rectangle", 3, 300, 200, "", "", ""]


def test_what_lies_on_no_roof_goes_into_the_job_of_its_order(tmp_path):
    cover = ["A", "cover flashing", "", 4200, "", 100, "", ""]
    jobs, found = read_jobs([as_csv(tmp_path, ROOF, LOOSE, TILED, cover, ["B", *LOOSE[1:]])])
    assert [(job.name, len(job.details)) for job in jobs] == [("A", 3), ("B", 1)]
    assert [f.code for f in found if f.code != "CP113"] == []
    faulty = as_csv(tmp_path, ROOF, LOOSE, [*TILED[:6], 350, TILED[-1]])
    assert faults(read_jobs([faulty])[1])[0].where.endswith("row 3, column G: Pitch"), "told in the row that says it"


def test_an_order_that_becomes_several_jobs_is_told(tmp_path):
    path = as_csv(tmp_path, ROOF, TILED, [*TILED[:6], 45, TILED[-1]], LOOSE)
    jobs, found = read_jobs([path])
    assert [job.name for job in jobs] == ["A (A)", "A (A2)", "A (A3)"]
    (told,) = [f for f in found if f.code == "CP115"]
    assert (told.severity, told.where.endswith("row 3")) == (Severity.NOTE, True)
    assert told.found == "its order is 3 jobs, which begin in rows 2, 3, 4: Pitch and Covering differ"


def test_a_sheet_gives_the_pieces_of_a_job_file(tmp_path):
    sheet = as_csv(tmp_path, [*HEAD, "Pitch", "Upstand"], ["J Example", "apron", "", "", "26 in", "7:12", "10 cm"])
    (tmp_path / "job.toml").write_text(
        'name = "J Example"\npitch = "7:12"\n[[detail]]\nkind = "apron"\nwidth = "26 in"\nupstand = "10 cm"\n'
    )
    (a,), (b,) = (pipeline.plan([path]).pieces for path in (sheet, tmp_path / "job.toml"))
    assert a.pattern == b.pattern


@pytest.mark.parametrize(("code", "found"), [("012345", '"012345"'), ("0", '"0"'), ("0004", None), ("Code 4", None)])
def test_a_code_is_told_as_it_is_written(code, found, tmp_path):
    sheet = as_csv(tmp_path, ["Customer", "Kind", "Length", "Width", "Code"], ["A", "rectangle", "325", "175", code])
    _, findings = read_jobs([sheet])
    assert [finding.found for finding in findings if finding.severity is Severity.FAULT] == ([found] if found else [])


def test_every_kind_of_the_sheet_takes_an_example():
    assert {example["Kind"] for example in EXAMPLES} == set(KINDS)
    for example in EXAMPLES:
        assert set(example) <= {column.word for column in taken(str(example["Kind"]))}
    assert all(says and kinds for _, says, kinds in notes())
    (said,) = (says for word, says, _ in notes() if word == "Covering")
    assert all(name in said for name in coverings())


def test_the_examples_of_both_templates_pass(tmp_path):
    lines = template_csv().splitlines()
    path = tmp_path / "blank.csv"
    path.write_text("\n".join([lines[-1], *(line.removeprefix("# ") for line in lines[-1 - len(EXAMPLES) : -1])]))
    assert len(pipeline.plan([path]).jobs) == 2
    book = openpyxl.load_workbook(io.BytesIO(template_xlsx()))
    assert book.sheetnames == [SHEET, "Notes", "Examples"]
    assert [cell.value for cell in book[SHEET][1]] == WORDS
    assert {cell.value for row in book[SHEET].iter_rows(min_row=2) for cell in row} == {None}
    texts = [cell.value for sheet in book for row in sheet for cell in row if isinstance(cell.value, str)]
    assert not [text for text in texts if text.startswith(("=", "+", "-", "@"))]
    del book[SHEET]
    book["Examples"].title = SHEET
    book.save(tmp_path / "blank.xlsx")
    assert len(pipeline.plan([tmp_path / "blank.xlsx"]).jobs) == 2


def test_the_template_is_printed_on_two_pages_side_by_side_and_its_notes_on_one():
    book = openpyxl.load_workbook(io.BytesIO(template_xlsx()))
    for sheet in book:
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        wide = 1 if sheet.title == "Notes" else 2
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (wide, 0), "any number of pages down"
        assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == (9, "landscape")
    assert [(s.print_title_rows, s.print_title_cols) for s in book] == [
        ("$1:$1", "$A:$B"),
        (None, None),
        ("$1:$1", "$A:$B"),
    ]


def test_a_blank_sheet_has_ruled_rows_to_write_in_which_are_no_orders(tmp_path):
    path = tmp_path / "blank.xlsx"
    path.write_bytes(template_xlsx())
    sheet = openpyxl.load_workbook(path)[SHEET]
    rows = list(sheet.iter_rows(min_row=2))
    assert len(rows) >= 20
    for row in rows:
        assert len(row) == len(COLUMNS)
        assert all(cell.border.bottom.style == "thin" and cell.value is None for cell in row)
        assert sheet.row_dimensions[row[0].row].height >= 28, "7 mm and more at the scale of the page"
    assert only(path).found == "headers, and no row below them"


@pytest.mark.parametrize("name", ["mine.xlsx", "mine.csv"])
def test_a_command_writes_the_template_and_never_over_a_file(name, tmp_path):
    path = tmp_path / name
    done = CliRunner().invoke(cutpath, ["new", "order", "sheet", "--out", str(path)])
    assert done.exit_code == 0
    assert name in done.stderr
    fault = only(path)
    assert (fault.code, fault.found) == ("CP104", "headers, and no row below them")
    before = path.read_bytes()
    with pytest.raises(Refused):
        CliRunner().invoke(cutpath, ["new", "order", "sheet", "--out", str(path)], catch_exceptions=False)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "error", [OSError(28, "No space left on device"), type("SerialisationError", (Exception,), {})()]
)
def test_no_room_to_make_a_workbook_is_a_finding(error, tmp_path, monkeypatch):
    """lxml, by which the library writes where it is there, has an error of its own for a full disk."""

    def full(*_):
        raise error

    monkeypatch.setattr(openpyxl.Workbook, "save", full)
    refusal = CliRunner().invoke(cutpath, ["new", "order", "sheet", "--out", str(tmp_path / "o.xlsx")]).exception
    assert isinstance(refusal, Refused), refusal
    (finding,) = refusal.findings
    assert finding.found == "the folder for temporary files cannot be written: no space left on device"
    assert list(tmp_path.iterdir()) == []


def test_a_template_of_another_kind_is_refused(tmp_path):
    done = CliRunner().invoke(cutpath, ["new", "order", "sheet", "--out", str(tmp_path / "a.ods")])
    assert done.exit_code == 2
    assert ".xlsx or .csv" in done.stderr


def test_every_faulty_cell_is_told_in_one_go_in_the_order_of_the_rows(tmp_path):
    path = as_book(
        tmp_path,
        [*HEAD, "Hand", "Upstand", "Pitch"],
        GOOD,
        ["J Example", "rectangle", 2.5, "325", "wide"],
        [None, "rectangel", 1, 325, 175],
        ["J Example", "rectangle", "two", 325, None, "up", 75],
        [],
        ["J Example", "apron", 1, None, "30 furlongs", None, None, 350],
        ["J Example", None, 1, 200, 100],
    )
    assert told(path) == [
        ("CP107", "sheet Orders, row 3, column C: Quantity"),
        ("CP105", "sheet Orders, row 3, column E: Width"),
        ("CP104", "sheet Orders, row 4, column A: Customer"),
        ("CP107", "sheet Orders, row 4, column B: Kind"),
        ("CP107", "sheet Orders, row 5, column C: Quantity"),
        ("CP104", "sheet Orders, row 5, column E: Width"),
        ("CP107", "sheet Orders, row 5, column F: Hand"),
        ("CP111", "sheet Orders, row 5, column G: Upstand"),
        ("CP105", "sheet Orders, row 7, column E: Width"),
        ("CP107", "sheet Orders, row 7, column H: Pitch"),
        ("CP104", "sheet Orders, row 8, column B: Kind"),
    ]


def test_later_stages_tell_the_cell_too(tmp_path):
    path = as_csv(tmp_path, [*HEAD, "Turn in", "Pitch"], GOOD, ["A", "apron", 1, "", 665, 12, 35])
    with pytest.raises(Refused) as refused:
        pipeline.plan([path])
    faults = [f for f in refused.value.findings if f.severity is Severity.FAULT]
    assert [f.where.partition(": ")[2] for f in faults] == ["row 3, column F: Turn in"]


def test_a_piece_that_goes_on_no_roll_tells_its_row(tmp_path):
    path = as_csv(tmp_path, HEAD, GOOD, ["A", "rectangle", 1, 2500, 2000])
    with pytest.raises(Refused) as refused:
        pipeline.plan([path])
    assert [f.where for f in refused.value.findings if f.code == "CP501"] == [f"{path}: row 3 (piece A-P1-1)"]


def test_a_total_names_the_row_that_makes_up_most_of_it(tmp_path):
    path = as_csv(tmp_path, HEAD, GOOD, ["A", "rectangle", 1000, 1400, 500], ["B", "rectangle", 900, 1400, 500])
    with pytest.raises(Refused) as refused:
        pipeline.plan([path])
    texts = [f.found for f in refused.value.findings if f.where == "all jobs together"]
    assert texts
    assert all(f"{path}: row 3" in text and "[job" not in text for text in texts)


def test_a_slip_may_be_confirmed_in_its_row(tmp_path):
    head, slip = [*HEAD, "Measured again"], ["A", "cover flashing", 1, 42_000]
    (fault,) = [f for f in read_jobs([as_csv(tmp_path, head, slip)])[1] if f.code == "CP112"]
    assert (fault.severity, fault.where.partition(": ")[2]) == (Severity.FAULT, "row 2, column D: Length")
    assert fault.remedy.endswith('If 42000 mm is right, write Length in the column "Measured again".')
    (noted,) = [f for f in read_jobs([as_csv(tmp_path, head, [*slip, "", "length"])])[1] if f.code == "CP112"]
    assert noted.severity is Severity.NOTE


@pytest.mark.parametrize(("length", "width", "cell"), [(325, 0.175, "column E: Width"), (0.3, 175, "column D: Length")])
def test_the_side_of_a_rectangle_that_looks_like_a_slip_is_told_by_its_own_cell(length, width, cell, tmp_path):
    _, (fault,) = read_jobs([as_csv(tmp_path, HEAD, ["A", "rectangle", 1, length, width])])
    assert (fault.code, fault.where.partition(": ")[2]) == ("CP112", f"row 2, {cell}")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_separators_are_found_out(separator, tmp_path):
    ((job,), findings) = read_jobs([as_csv(tmp_path, HEAD, GOOD, separator=separator)])
    assert (job.customer, findings) == ("J Example", ())


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_may_end_in_any_way(end, tmp_path):
    path = tmp_path / "orders.csv"
    path.write_bytes(end.join(["Customer,Kind,Length,Width", '"A and\r\nB",rectangle,325,175', ""]).encode())
    ((job,), findings) = read_jobs([path])
    assert (job.customer.split(), findings) == (["A", "and", "B"], ())


def test_a_first_line_that_names_the_separator_is_no_header(tmp_path):
    path = tmp_path / "orders.csv"
    path.write_text("sep=;\r\nCustomer;Kind;Length;Width\r\nA, B and C;rectangle;325;175\r\n")
    assert read_jobs([path])[0][0].customer == "A, B and C"


def test_inches_and_fractions_are_read_from_text(tmp_path):
    path = tmp_path / "orders.csv"
    path.write_text('Customer,Kind,Length,Width\nA,rectangle,23 5/8 in,7"\n', encoding="utf-8")
    (piece,) = pipeline.plan([path]).pieces
    assert max(piece.pattern.outline) == pytest.approx((600.075, 177.8))


@pytest.mark.parametrize(
    ("data", "code", "words"),
    [
        ("Customer,Kind\nJosé,apron\n".encode("cp1252"), "CP101", "line 2"),
        ("Customer,Kind\nA,apron\n".encode("utf-16"), "CP101", "UTF-8"),
        (b"", "CP104", "no row"),
        (b"\n\n,,,\n", "CP104", "no row"),
        (b"# nothing\n", "CP104", "no row"),
        (b'Customer,Kind,Length\n"A,rectangle,325\nB,rectangle,325\n', "CP102", "a quote that is not closed"),
        (b"Customer,Kind\n\0\0\0,\0\n", "CP107", "Kind"),
        (b"a,b,c\n1,2,3\n", "CP107", "headers such as Customer"),
        (b"Customer,Kind,Width\n" + b"A," + b"x" * 200_000 + b",\n", "CP102", "field limit"),
        (b"x" * (9 * 2**20), "CP101", "more than 8 MB"),
        (b"Customer,Kind\n" + b"A,apron\n" * 900_000, "CP107", f"more than {SHEET_ROWS} rows"),
        (b"Customer,Kind,Length,Width\nA,rectangle,\"1,200\",175\n", "CP107", "thousands without a comma"),
        (b"Customer;Kind;Length;Width\nA;rectangle;325,5;175\n", "CP107", "decimals with a point"),
        (b"Customer,Kind,Kind\nA,apron,apron\n", "CP109", "Kind once more"),
        (b"Customer,Length\nA,2\n", "CP104", "no column Kind"),
        (b"Customer,Kind,Length,Width,Kid\nA,rectangle,300,200,1\n", "CP103", "Did you mean Kind?"),
    ],
)  # fmt: skip
def test_text_that_is_no_order_sheet_is_told(data, code, words, tmp_path):
    path = tmp_path / "orders.csv"
    path.write_bytes(data)
    _, findings = read_jobs([path])
    assert any(f.code == code and words in str(f) for f in findings), findings


def _zip(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name.replace("__", "/"), data)
    return out.getvalue()


def _edited(path: Path, part: str, old: bytes, new: bytes) -> bytes:
    """A workbook with something in one of its parts put in the place of something else."""
    out, found = io.BytesIO(), False
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for info in source.infolist():
            data = source.read(info)
            if info.filename == part:
                found = old in data
                data = data.replace(old, new, 1)
            target.writestr(info, data)
    assert found
    return out.getvalue()


ENTITIES = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
SHEET_PART = "xl/worksheets/sheet1.xml"


def test_workbooks_that_cannot_be_read_are_told(tmp_path):
    good = as_book(tmp_path, HEAD, GOOD)
    huge = b"<row/>" * 3_000_000
    for data, words in (
        (b"", "not a workbook"),
        (b"PK\x03\x04 and nothing else", "not a workbook"),
        (_zip(a=b"b"), "broken"),
        (good.read_bytes()[:2000], "not a workbook"),
        (_edited(good, SHEET_PART, b"<sheetData>", b"<sheetData>" + huge), "unpacks to 18 MB"),
        (_edited(good, SHEET_PART, b"<worksheet", ENTITIES + b"<worksheet"), "broken"),
        (_edited(good, SHEET_PART, b"</sheetData>", b"</sheetDat>"), "broken"),
        (_edited(good, SHEET_PART, b'<row r="2"', b'<row r="99999999999"'), "broken"),
    ):
        path = tmp_path / "bad.xlsx"
        path.write_bytes(data)
        fault = only(path)
        assert (fault.code, words in fault.found) == ("CP101", True), fault


@pytest.mark.parametrize("name", ["old.xls", "open.ods"])
def test_other_formats_are_told_what_to_do(name, tmp_path):
    (tmp_path / name).write_bytes(b"\xd0\xcf\x11\xe0")
    assert only(tmp_path / name).remedy == "Save the sheet as XLSX."
    assert is_sheet(Path("A.XLSX"))
    assert not is_sheet(Path("job.toml"))


def test_a_file_that_is_not_there_is_told(tmp_path):
    assert only(tmp_path / "none.xlsx").code == "CP101"


def test_no_change_of_a_byte_makes_a_traceback(tmp_path):
    good = as_book(tmp_path, HEAD, GOOD, ["B", "apron", 1, None, 665]).read_bytes()
    rng, path = random.Random(7), tmp_path / "changed.xlsx"  # noqa: S311
    for _ in range(60):
        data = bytearray(good)
        for _ in range(rng.choice([1, 3, 30])):
            data[rng.randrange(len(data))] = rng.randrange(256)
        path.write_bytes(data)
        read_jobs([path])


def test_merged_cells_are_refused(tmp_path):
    path = as_book(tmp_path, HEAD, GOOD, GOOD, change=lambda sheet: sheet.merge_cells("A2:A3"))
    fault = only(path)
    assert (fault.where, fault.found) == (f"{path}: sheet Orders", "merged cells at A2:A3")


def test_hidden_rows_are_read_and_told(tmp_path):
    def hide(sheet):
        sheet.row_dimensions[3].hidden = sheet.row_dimensions[9].hidden = True

    jobs, (warning,) = read_jobs([as_book(tmp_path, HEAD, GOOD, ["B", *GOOD[1:]], change=hide)])
    assert [job.customer for job in jobs] == ["J Example", "B"]
    assert (warning.code, warning.severity, warning.found) == ("CP113", Severity.WARNING, "hidden rows: 3")


def test_what_the_name_of_a_job_says_is_not_said_again(tmp_path):
    ((job, other), _) = read_jobs(
        [as_csv(tmp_path, [*HEAD, "Order", "Site"], [*GOOD, "1042", "Yard"], [*GOOD, "", "J Example"])]
    )
    assert (job.name, job.errand) == ("J Example, order 1042", ("site Yard",))
    assert (other.name, other.errand) == ("J Example", ("site J Example",))


def test_formulas_count_by_their_results(tmp_path):
    path = as_book(tmp_path, HEAD, ["A", "rectangle", 1, "=300+25", 175], ["A", "rectangle", 1, 325, "=1/0"])
    assert [(f.where.rpartition(", ")[2], f.found) for f in read_jobs([path])[1]] == [
        ("column D: Length", "a formula without its result"),
        ("column E: Width", "a formula without its result"),
    ]
    saved = _edited(path, SHEET_PART, b"<f>300+25</f><v></v>", b"<f>300+25</f><v>325</v>")
    path.write_bytes(saved)
    path.write_bytes(_edited(path, SHEET_PART, b"<f>1/0</f><v></v>", b"<f>1/0</f><v>#DIV/0!</v>"))
    path.write_bytes(_edited(path, SHEET_PART, b'<c r="E3">', b'<c r="E3" t="e">'))
    fault = only(path)
    assert (fault.where.rpartition(", ")[2], fault.found) == ("column E: Width", "the error #DIV/0!")


def test_dates_are_days_in_their_column_and_faults_in_any_other(tmp_path):
    day = dt.datetime(2026, 12, 4)  # noqa: DTZ001 - as a spreadsheet has it
    path = as_book(tmp_path, [*HEAD, "Wanted by"], [*GOOD, day], ["A", "rectangle", 1, day, 175])
    (job, *_), findings = read_jobs([path])
    assert job.due == "2026-12-04"
    assert [(f.where.rpartition(", ")[2], f.found) for f in findings] == [("column D: Length", "the date 2026-12-04")]


def test_numbers_stand_for_names_and_text_for_numbers(tmp_path):
    head = ["Order", "Kind", "Quantity", "Length", "Width", "Code", "Label"]
    path = as_book(
        tmp_path, head, [1042.0, "Rectangle ", "2", "325", 175.5, "code 5", 7], [" 1042", "rectangle", 1, 9, 9]
    )
    ((job,), _) = read_jobs([path])
    assert (job.order, job.name, job.details[0].head.label) == ("1042", "order 1042", "7")
    assert (job.details[0].head.quantity, job.details[0].head.lead.code) == (2, 5)


def test_a_row_far_below_is_found_and_empty_rows_are_passed_over(tmp_path):
    def far(sheet):
        for column, value in enumerate(["A", "apron", 1, None, None], start=1):
            sheet.cell(1_048_576, column).value = value

    path = as_book(tmp_path, HEAD, GOOD, change=far)
    assert told(path) == [("CP104", "sheet Orders, row 1048576, column E: Width")]


def test_what_a_file_says_of_its_size_is_not_believed(tmp_path):
    path = as_book(tmp_path, HEAD, GOOD, ["B", "rectangle", 1, 300, 200])
    path.write_bytes(_edited(path, SHEET_PART, b'<dimension ref="A1:E3"', b'<dimension ref="A1:B2"'))
    assert len(read_jobs([path])[0]) == 2


def test_the_first_sheet_is_read_where_none_is_called_orders(tmp_path):
    assert len(read_jobs([as_book(tmp_path, HEAD, GOOD, title="Week 49")])[0]) == 1


def test_columns_of_the_shops_own_are_passed_over(tmp_path):
    path = as_csv(tmp_path, ["[paid]", *HEAD], ["yes", *GOOD])
    assert read_jobs([path])[1] == ()


def test_sheets_and_job_files_are_cut_together(tmp_path):
    (tmp_path / "job.toml").write_text(
        'name = "J Example"\n[[detail]]\nkind = "outline"\nsize = "300 x 200"\n', encoding="utf-8"
    )
    planned = pipeline.plan([as_csv(tmp_path, HEAD, GOOD), tmp_path / "job.toml"])
    assert len({job.name for job in planned.jobs}) == 2
    assert len({job.mark for job in planned.jobs}) == 2


def test_a_formula_among_the_orders_is_text_in_what_is_exported(tmp_path):
    path = as_csv(tmp_path, HEAD, ["=1+1", *GOOD[1:]], ["@SUM(A1)", *GOOD[1:]])
    text = cutting_list_csv(cutting_list(pipeline.plan([path]).pieces))
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "@", "+"))]
    assert {"'=1+1", "'@SUM(A1)"} <= set(cells)


def test_the_template_is_the_same_bytes_whenever_it_is_made(monkeypatch):
    first = template_xlsx()
    monkeypatch.setattr(time, "time", lambda: 2_000_000_000.0)
    monkeypatch.setattr(time, "localtime", lambda *_: (2033, 5, 18, 3, 33, 20, 2, 138, 0))
    assert template_xlsx() == first
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert b"1980-01-01T00:00:00Z" in archive.read("docProps/core.xml")
        assert {info.date_time[0] for info in archive.infolist()} == {1980}


@pytest.mark.parametrize(
    ("shown", "unit"), [('0.0" m"', "m"), ("0\\ \\c\\m", "cm"), ('#,##0 "in."', "in"), ('0" mm"', ""), ("0.00", "")]
)
def test_a_unit_that_only_the_format_of_a_cell_shows_is_refused(tmp_path, shown, unit):
    def show(sheet):
        sheet["D2"].number_format = shown

    _, findings = read_jobs([as_book(tmp_path, HEAD, GOOD, change=show)])
    told = [(f.code, f.where.rpartition(", ")[2], f.found) for f in findings if f.severity is Severity.FAULT]
    found = f"325 in a cell that shows {unit} behind it"
    assert told == [("CP107", "column D: Length", found)] * bool(unit)


def test_a_second_sheet_of_orders_is_told_and_examples_are_not(tmp_path):
    def more(sheet):
        for title, rows in (
            ("Tuesday", [HEAD, GOOD]),
            ("Empty", [HEAD]),
            ("Examples", [HEAD, GOOD]),
            ("Notes", [["x"]]),
        ):
            other = sheet.parent.create_sheet(title)
            for row in rows:
                other.append(row)

    _, (warning,) = read_jobs([as_book(tmp_path, HEAD, GOOD, change=more)])
    assert (warning.code, warning.severity) == ("CP113", Severity.WARNING)
    assert warning.found == "rows of a sheet Tuesday that is not read"


def test_hidden_columns_are_read_and_told(tmp_path):
    def hide(sheet):
        sheet.column_dimensions["E"].hidden = sheet.column_dimensions["J"].hidden = True

    _, (warning,) = read_jobs([as_book(tmp_path, HEAD, GOOD, change=hide)])
    assert (warning.code, warning.severity, warning.found) == ("CP113", Severity.WARNING, "hidden columns: E")


def test_the_side_that_is_to_be_confirmed_is_named_by_its_own_header(tmp_path):
    head = [*HEAD, "Measured again"]
    _, (warning,) = read_jobs([as_csv(tmp_path, head, ["A", "rectangle", 1, 325, 5.75, ""])])
    assert 'write Width in the column "Measured again"' in warning.remedy
    _, (note,) = read_jobs([as_csv(tmp_path, head, ["A", "rectangle", 1, 325, 5.75, "Width"])])
    assert note.severity is Severity.NOTE


def test_what_a_spreadsheet_leaves_beside_an_open_file_is_told(tmp_path):
    path = tmp_path / "~$orders.xlsx"
    path.write_bytes(b"\x05owner")
    assert only(path).remedy == "Close orders.xlsx there, and name that file."


def test_customers_that_differ_by_capitals_or_spaces_are_two_jobs_and_it_is_told(tmp_path):
    path = as_csv(tmp_path, HEAD, ["Fern", *GOOD[1:]], ["Fern", *GOOD[1:-1], 170], ["FERN", *GOOD[1:]])
    (one, other), (note,) = read_jobs([path])
    assert (one.name, other.name) == (f"Fern ({one.mark})", f"FERN ({other.mark})")
    assert (note.code, note.severity) == ("CP109", Severity.NOTE)
    assert note.accepted == f"{path}: row 2 has it already"
    assert "write customer and order alike" in note.remedy


def test_what_is_struck_out_is_not_cut(tmp_path):
    def strike(sheet):
        for cell in (sheet["C3"], sheet["A5"]):
            cell.font = openpyxl.styles.Font(strike=True)

    assert told(as_book(tmp_path, HEAD, GOOD, GOOD, change=strike)) == [
        ("CP107", "sheet Orders, row 3, column C: Quantity")
    ]


def test_a_hidden_sheet_is_read_and_told(tmp_path):
    def hide(sheet):
        sheet.parent.create_sheet("Notes")
        sheet.sheet_state = "hidden"

    (_,), (warning,) = read_jobs([as_book(tmp_path, HEAD, GOOD, change=hide)])
    assert (warning.code, warning.severity, warning.found) == ("CP113", Severity.WARNING, "a hidden sheet")


@pytest.mark.parametrize("mark", ['"', "''", "do.", "Ditto", "\u201d"])
def test_a_ditto_mark_is_no_customer(mark, tmp_path):
    assert told(as_csv(tmp_path, HEAD, GOOD, [mark, *GOOD[1:]])) == [("CP107", "row 3, column A: Customer")]


@pytest.mark.parametrize(("shown", "value", "faults"), [("# ?/?", 47.25, 1), ("# ##/##", 47.5, 1), ("# ?/?", 47, 0)])
def test_a_fraction_that_only_the_format_of_a_cell_shows_is_most_likely_of_inches(tmp_path, shown, value, faults):
    def show(sheet):
        sheet["D2"].value, sheet["D2"].number_format = value, shown

    assert (
        told(as_book(tmp_path, HEAD, GOOD, change=show))
        == [("CP107", "sheet Orders, row 2, column D: Length")] * faults
    )


@pytest.mark.parametrize(
    ("folds", "faults"), [("25,5", 1), ("25,5; 100", 1), ("25,100", 0), ("100, 25", 0), ("25 back, 100", 0)]
)
def test_a_decimal_comma_between_folds_is_not_two_folds(folds, faults, tmp_path):
    path = as_csv(tmp_path, [*HEAD, "Folds"], [*GOOD, folds])
    assert told(path) == [("CP107", "row 2, column F: Folds")] * faults


@pytest.mark.parametrize(("folds", "faults"), [(25.1, 1), (25.5, 1), (25100, 1), (100, 0), ("25, 100", 0), ("12.5", 0)])
def test_two_folds_that_a_spreadsheet_made_one_number_of_are_refused(tmp_path, folds, faults):
    path = as_book(tmp_path, [*HEAD, "Folds"], [*GOOD, folds])
    assert told(path) == [("CP107", "sheet Orders, row 2, column F: Folds")] * faults


def test_folds_along_the_shorter_side_are_asked_about(tmp_path):
    turned = [175 if word == 325 else 325 if word == 175 else word for word in GOOD]
    square = [175 if word == 325 else word for word in GOOD]
    for row, asked in ((GOOD, 0), (square, 0), (turned, 1)):
        _, found = read_jobs([as_book(tmp_path, [*HEAD, "Folds"], [*row, "25, 100"])])
        doubts = [f.where.rpartition(": ")[2] for f in found if f.code == "CP112"]
        assert doubts == ["Width"] * asked


def test_a_code_may_be_written_as_a_decimal_number(tmp_path):
    jobs, _ = read_jobs([as_csv(tmp_path, [*HEAD, "Code"], [*GOOD, "4.0"])])
    assert jobs[0].details[0].head.lead.code == 4
