"""One table of line styles: every writer and every picture is read back and held against it."""

from __future__ import annotations

import io
import re
from functools import cache

import ezdxf
import pikepdf
import pytest

from cutpath.drawing.fold_notes import fold_notes
from cutpath.drawing.sheet import draw
from cutpath.drawing.template import fold_list, template_notes
from cutpath.reports.pictures.line_style import CLASSES, LINE_STYLE
from cutpath.reports.pictures.pattern_picture import fold_groups
from cutpath.reports.pictures.picture_style import PICTURE_STYLE
from cutpath.reports.words.page.style import STYLE as PAGE_STYLE
from cutpath.reports.words.ticket_style import STYLE as TICKET_STYLE
from cutpath.values import looks
from cutpath.values.drawing import LETTERING, Role
from cutpath.values.looks import LOOKS, OF_ROLE, PICTURE_SHARE
from cutpath.values.machine import Paper
from cutpath.writers.dxf import ROLE_LAYERS, to_dxf
from cutpath.writers.pdf import MM, Cover, to_pdf
from cutpath.writers.svg import ROLE_GROUPS, to_svg
from tests.drawing.specimens import PIECES, full_sheet

OKABE_ITO = {"#000000", "#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7"}
SHEETS = {"page": PAGE_STYLE + PICTURE_STYLE, "tickets": PICTURE_STYLE + TICKET_STYLE}


@cache
def drawing():
    return draw(full_sheet(), PIECES, caution="Never score a fold.")


def rules(style: str) -> dict[str, dict[str, str]]:
    """What holds in the end of each selector of a style sheet, outside of @media."""
    out: dict[str, dict[str, str]] = {}
    plain = re.sub(r"@media[^{]*\{(?:[^{}]*\{[^{}]*\})*[^{}]*\}", "", style)
    for selectors, body in re.findall(r"([^{}@]+)\{([^{}]*)\}", plain):
        for selector in selectors.split(","):
            told = dict(re.findall(r"([\w-]+):([^;]+)", body))
            out.setdefault(selector.strip(), {}).update(told)
    return out


def test_colours_are_of_one_palette_and_no_line_is_told_by_its_colour_alone() -> None:
    assert {look.colour for look in LOOKS} <= OKABE_ITO | {looks.GREY}
    styles = [(look.dashes_mm, look.width_mm) for look in LOOKS]
    assert len(set(styles)) == len(styles)


def test_what_is_cut_is_solid_and_what_is_never_cut_is_broken() -> None:
    assert {role for role, look in OF_ROLE.items() if not look.dashes_mm} == {Role.OUTER, Role.INNER}
    assert len({look.dashes_mm for look in OF_ROLE.values() if look.dashes_mm}) == len(Role) - 2


def test_blue_is_a_fold_and_nothing_else() -> None:
    blue = {look for look in LOOKS if look.colour == looks.BLUE}
    assert blue == {looks.FOLD, looks.FORWARD, looks.CHAIN, looks.FOLD_IN_PLACE, looks.ARRIS_IN_PLACE}
    assert all("fold" in look.says for look in blue)
    assert "#56B4E9" not in {look.colour for look in LOOKS}


def light(colour: str) -> float:
    """Relative luminance of an sRGB colour (IEC 61966-2-1), 0 black to 1 white."""
    parts = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    r, g, b = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def test_every_line_stands_out_from_white_paper_in_grey() -> None:
    for look in LOOKS:
        contrast = 1.05 / (light(look.colour) + 0.05)
        assert contrast >= (2.0 if look.width_mm >= 0.5 else 3.0), look


@pytest.mark.parametrize("name", SHEETS)
def test_page_and_tickets_draw_by_the_table(name: str) -> None:
    told = rules(SHEETS[name])
    for selectors, look in CLASSES.items():
        for selector in selectors.split(","):
            rule = told[selector]
            assert rule["stroke"] == look.colour
            assert float(rule["stroke-width"]) == pytest.approx(look.width_mm * PICTURE_SHARE)
            dashes = rule["stroke-dasharray"]
            assert (() if dashes == "none" else tuple(map(float, dashes.split(",")))) == look.dashes_mm


@pytest.mark.parametrize("name", SHEETS)
def test_no_style_sheet_has_a_colour_of_its_own(name: str) -> None:
    """Greys and pale wood aside, a colour stands in the table's own rules, or is the fold's, on a fold's letter."""
    own = SHEETS[name].replace(LINE_STYLE, "")
    assert [selector for selector, rule in rules(own).items() if "var(--fold)" in rule.values()] in ([], [".legend b"])
    for selector, rule in rules(own).items():
        for value in re.findall(r"#[0-9A-Fa-f]{6}\b", " ".join(rule.values())):
            r, g, b = (int(value[k : k + 2], 16) for k in (1, 3, 5))
            lap = selector == ".lap-hatch" and value == looks.PURPLE
            letter = selector in {".legend b", "svg .letter", ":root"} and value == looks.BLUE
            assert lap or letter or max(r, g, b) - min(r, g, b) <= 30, (selector, value)


def test_svg_draws_by_the_table() -> None:
    text = to_svg(drawing())
    for role, group in ROLE_GROUPS.items():
        head, body = re.findall(rf'<g ([^>]*id="{group}"[^>]*)>(.*?)</g>', text, re.DOTALL)[0]
        look = OF_ROLE[role]
        assert f'stroke="{look.colour}"' in head
        assert f'stroke-width="{look.width_mm:g}"' in head
        plain = [s for s in drawing().strokes if s.role is role and s.name != LETTERING]
        dashed = re.findall(r'stroke-dasharray="([^"]*)"', body)
        assert [tuple(map(float, d.split(","))) for d in dashed] == (
            [look.dashes_mm] * len(plain) if look.dashes_mm else []
        )


@pytest.mark.parametrize("release", ["R2000", "R12"])
def test_dxf_draws_by_the_table_on_continuous_lines(release) -> None:
    doc = ezdxf.read(io.StringIO(to_dxf(drawing(), release=release)))
    for role, name in ROLE_LAYERS.items():
        layer = doc.layers.get(name)
        assert (layer.color, layer.dxf.linetype.upper()) == (OF_ROLE[role].index, "CONTINUOUS")
        if release == "R2000":
            assert layer.dxf.lineweight == round(100 * OF_ROLE[role].width_mm)


@pytest.mark.parametrize("chain", [False, True])
def test_pdf_draws_by_the_table(chain) -> None:
    paper = Paper(914, 3000, 10, 20, long=True, chain_folds=chain)
    told: set[tuple[str, float, tuple[float, ...]]] = set()
    with pikepdf.open(io.BytesIO(to_pdf(drawing(), paper, Cover("Roll")))) as document:
        for page in document.pages[1:]:
            colour, width, dashes = "", 0.0, ()
            for operands, operator in pikepdf.parse_content_stream(page):
                match str(operator):
                    case "RG":
                        colour = "#" + "".join(f"{round(255 * float(v)):02X}" for v in operands)
                    case "w":
                        width = round(float(operands[0]) / MM, 3)
                    case "d":
                        dashes = tuple(round(float(v) / MM, 2) for v in operands[0])
                    case "S" | "s":
                        told.add((colour, width, dashes))
    for role, look in OF_ROLE.items():
        look = looks.CHAIN if role is Role.FOLD and chain else look
        assert (look.colour.upper(), look.width_mm, look.dashes_mm) in told, role
    assert {colour for colour, _, _ in told} <= {look.colour.upper() for look in LOOKS}


def test_a_fold_goes_back_or_forward_in_every_word_of_ours() -> None:
    """Beside the folds on rolls and patterns, in the list of a pattern, in the legends of page and tickets."""
    words = [note.text for note in fold_notes(full_sheet(), PIECES)]
    words += [note.text for piece in PIECES.values() for note in template_notes(piece)]
    words += [way for piece in PIECES.values() for way, _ in fold_list(piece.pattern)]
    assert words
    assert all(re.fullmatch(r"(back|forward) [\d.]+°", text) for text in words)
    shown = [group.words for piece in PIECES.values() for group in fold_groups(piece.pattern)]
    assert shown
    assert all(re.search(r": fold (back|forward) [\d.]+°", text) for text in shown)
