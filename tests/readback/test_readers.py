"""Strict readers: sound files read as they were drawn, and every file with one thing wrong is seen."""

from __future__ import annotations

import copy
import random
import re
from dataclasses import replace

import pytest

from cutpath import readback
from cutpath.nesting import one_after_another
from cutpath.pipeline import batch_of, plan
from cutpath.readback.lines import MisreadError
from cutpath.readback.pages import against_tickets, read_page
from cutpath.readback.pdf import against_pages, read_pdf
from cutpath.values.drawing import Role
from cutpath.values.made_from import Asked
from cutpath.values.pattern import FoldWay
from cutpath.values.settings import Settings
from cutpath.writers.bare_dxf import to_bare_dxf
from cutpath.writers.dxf import ROLE_LAYERS, to_dxf
from cutpath.writers.svg import ROLE_GROUPS, to_svg
from cutpath.writers.templates import template_files
from tests.golden.corpus import ROOT

FORMS = {
    "dxf-r2000": (ROLE_LAYERS, lambda d: to_dxf(d).encode()),
    "dxf-r12": (ROLE_LAYERS, lambda d: to_dxf(d, release="R12").encode()),
    "dxf-r12-bare": (ROLE_LAYERS, lambda d: to_bare_dxf(d, ROLE_LAYERS)),
    "svg": (ROLE_GROUPS, lambda d: to_svg(d).encode()),
}


@pytest.fixture(scope="module")
def chimney():
    """A batch with folds, snips and several copies, a sheet with step flashings and that sheet's drawing."""
    from cutpath.drawing.sheet import draw

    planned = plan([ROOT / "fixtures/jobs/chimney.toml"], settings=Settings(choose_lengths=False))
    batch = batch_of(planned, [one_after_another(problem) for _, problem in planned.problems])
    pieces = {piece.id: piece for piece in batch.pieces}
    sheet = next(s for s in batch.sheets if any(len(pieces[p.id].pattern.folds) > 4 for p in s.nested.placements))
    return batch, pieces, sheet, draw(sheet, pieces)


@pytest.mark.parametrize("form", FORMS)
def test_a_sound_file_reads_as_it_was_drawn(form, chimney):
    places, write = FORMS[form]
    assert readback.drawing_faults(form, write(chimney[3]), chimney[3], places) == ()


def test_a_format_without_a_reader_is_not_put_in_place(chimney):
    """A new one that nobody read again would have been."""
    assert readback.drawing_faults("wkt", b"LINESTRING (0 0, 1 1)", chimney[3], {})
    assert readback.run_faults("wkt", b"LINESTRING (0 0, 1 1)", None, None)


@pytest.mark.parametrize("count", [12, pytest.param(300, marks=pytest.mark.slow)])
@pytest.mark.parametrize("form", FORMS)
def test_a_figure_a_line_or_a_byte_that_is_wrong_is_seen(form, count, chimney):
    """Any digit of any coordinate changed by one, any line of the file lost, or written twice; so many of each."""
    places, write = FORMS[form]
    drawing = chimney[3]
    sound, chance = write(drawing), random.Random(form)  # noqa: S311
    begins = sound.index(b"ENTITIES") if form != "svg" else sound.index(b"<path")
    ends = sound.index(b"ENDSEC", begins) if form != "svg" else sound.rindex(b"<path")
    unseen = []
    digits = [k for k in range(begins, ends) if sound[k : k + 1].isdigit() and b"." in sound[k - 9 : k]]
    for at in chance.sample(digits, count):
        changed = bytes([(sound[at] - 48 + 1) % 10 + 48])
        spoilt = sound[:at] + changed + sound[at + 1 :]
        if not readback.drawing_faults(form, spoilt, drawing, places) and not _too_small(form, sound, at):
            unseen.append(sound[at - 20 : at + 20])
    parts = sound.split(b"<path" if form == "svg" else b"\n")
    first = sound[:begins].count(b"\n") + 2 if form != "svg" else 1
    last = sound[:ends].count(b"\n") if form != "svg" else len(parts) - 1
    for at in chance.sample(range(first, last), count):
        for own in ([], [parts[at], parts[at]]):
            spoilt = (b"<path" if form == "svg" else b"\n").join([*parts[:at], *own, *parts[at + 1 :]])
            if not readback.drawing_faults(form, spoilt, drawing, places):
                unseen.append(parts[at])
    assert unseen == []


def test_a_fold_that_is_drawn_solid_is_seen(chimney):
    """Who reads the drawing by eye would cut there."""
    dashes = b' stroke-dasharray="2.2,0.9"'
    sound = FORMS["svg"][1](chimney[3])
    assert dashes in sound
    assert readback.drawing_faults("svg", sound.replace(dashes, b"", 1), chimney[3], ROLE_GROUPS)
    assert readback.drawing_faults(
        "svg", sound.replace(dashes, dashes.replace(b"0.9", b"9.9"), 1), chimney[3], ROLE_GROUPS
    )


@pytest.mark.parametrize("form", FORMS)
def test_a_colour_a_line_type_or_a_layer_that_does_not_show_is_seen(form, chimney):
    """Shops choose tools by colour; a layer that is off is not cut, and a line type of its own breaks cuts."""
    places, write = FORMS[form]
    sound, drawing = write(chimney[3]), chimney[3]
    fold = places[Role.FOLD].encode()
    spoils = [(rb"(  2\r?\n%s\r?\n(?:.*\n)*? 62\r?\n)5" % fold, new) for new in (rb"\g<1>1", rb"\g<1>-5")]
    spoils += [
        (rb"(  2\r?\n%s\r?\n 70\r?\n)0" % fold, rb"\g<1>1"),
        (rb"(  2\r?\n%s\r?\n(?:.*\n)*?  6\r?\n)CONTINUOUS" % fold, rb"\1HIDDEN"),
    ]
    if form == "svg":
        group = rb'(<g [^>]*id="%s"[^>]*)' % fold
        spoils = [
            (group + rb'stroke="#0072B2"', rb'\1stroke="#000000"'),
            (group + rb'stroke-width="0.3"', rb'\1stroke-width="0"'),
        ]
        spoils += [(rb'fill="none"', rb'fill="#000000"')]
    for old, new in spoils:
        spoilt, count = re.subn(old, new, sound, count=1)
        assert count, old
        assert readback.drawing_faults(form, spoilt, drawing, places), old


@pytest.mark.parametrize("form", [form for form in FORMS if "r12" in form])
def test_a_corner_on_another_layer_than_its_line_is_seen(form, chimney):
    places, write = FORMS[form]
    spoilt, count = re.subn(rb"(VERTEX\r?\n(?:.*\n)*?  8\r?\n)\w+", rb"\1MARK_TOO", write(chimney[3]), count=1)
    assert count
    assert readback.drawing_faults(form, spoilt, chimney[3], places)


def _too_small(form, sound, at):
    """Whether a digit is too small to count: under 6e-5 mm in DXF; in SVG the last decimal, dashes, titles."""
    if form == "svg":
        if not sound[at + 1 : at + 2].isdigit() and at - sound.rindex(b".", 0, at) >= 7:
            return True
        return b'"' in sound[at - 12 : at] or b"<title>" in sound[at - 30 : at]
    line = sound[sound.rindex(b"\n", 0, at) + 1 : sound.index(b"\n", at)].strip()
    return at - sound.rindex(b".", 0, at) >= 5 or b"." not in line


@pytest.mark.parametrize("spoil", ["moved", "lost", "turned", "another way", "mirrored", "hole", "strange"])
def test_strokes_that_are_not_the_pieces_are_seen(spoil, chimney):
    _, pieces, sheet, drawing = chimney
    assert readback.sheet_faults(drawing, sheet, pieces) == ()
    strokes = list(drawing.strokes)
    outline = max((k for k, s in enumerate(strokes) if s.role is Role.OUTER), key=lambda k: len(strokes[k].points))
    fold = next(k for k, s in enumerate(strokes) if s.role is Role.FOLD)
    old = strokes[outline]
    match spoil:
        case "moved":
            strokes[outline] = replace(old, points=((old.points[0][0] + 1e-3, old.points[0][1]), *old.points[1:]))
        case "lost":
            del strokes[fold]
        case "turned":
            strokes[fold] = replace(strokes[fold], points=tuple((y, x) for x, y in strokes[fold].points))
        case "another way":
            other = FoldWay.BACK if strokes[fold].tells is FoldWay.FORWARD else FoldWay.FORWARD
            strokes[fold] = replace(strokes[fold], tells=other)
        case "mirrored":
            middle = max(x for x, _ in old.points) + min(x for x, _ in old.points)
            strokes[outline] = replace(old, points=tuple((middle - x, y) for x, y in old.points))
        case "hole":
            strokes.append(replace(old, role=Role.INNER))
        case "strange":
            strokes.append(replace(old, piece="nobody's"))
    assert readback.sheet_faults(replace(drawing, strokes=tuple(strokes)), sheet, pieces)


@pytest.fixture(scope="module")
def pattern_pages(chimney):
    """A pattern of several pages of paper, its drawing and its pages."""
    from cutpath.drawing.template import template

    piece = max(chimney[1].values(), key=lambda p: len(p.pattern.folds))
    (data,) = [file.data for file in template_files([piece]) if file.path.endswith(".pdf")]
    return data, template(piece), read_pdf(data)


def test_full_size_pages_read_as_they_were_drawn(pattern_pages):
    data, drawing, pages = pattern_pages
    assert len(pages) > 3
    assert readback.drawing_faults("pdf", data, drawing, {}) == ()


@pytest.mark.parametrize("spoil", ["point", "page lost", "bar", "line lost", "window", "shifted", "strange"])
def test_full_size_pages_that_differ_are_seen(spoil, pattern_pages):
    _, drawing, sound = pattern_pages
    pages = copy.deepcopy(sound)
    full = max(range(1, len(pages)), key=lambda k: len(pages[k].inside))
    page = pages[full]
    line, closed = max(page.inside, key=lambda own: len(own[0]))
    (x, y), *others = line
    match spoil:
        case "point":
            page.inside[page.inside.index((line, closed))] = ([(x + 0.002, y), *others], closed)
        case "page lost":
            del pages[full]
        case "bar":
            page.outside = [([(0.9999 * u, v) for u, v in own], shut) for own, shut in page.outside]
        case "line lost":
            page.inside.remove((line, closed))
        case "window":
            left, low, wide, high = page.windows[0]
            page.windows[0] = (left, low, 0.6 * wide, high)
        case "shifted":
            page.inside = [([(u + 30, v) for u, v in own], shut) for own, shut in page.inside]
        case "strange":
            page.inside.append(([(x, y), (x + 7, y + 1)], False))
    assert list(against_pages(pages, drawing))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (b"/PrintScaling /None", b"/PrintScaling /Some", "scale"),
        (b"/Rotate 0", b"/Rotate 9", "sides"),
        (b"/ASCII85Decode", b"/ASCII99Decode", "packed"),
        (b"startxref", b"startyref", "end of a PDF"),
        (b"~>", b"zz", "unpack"),
    ],
)
def test_a_spoilt_pdf_is_misread(old, new, says, pattern_pages):
    with pytest.raises(MisreadError, match=says):
        read_pdf(pattern_pages[0].replace(old, new))


@pytest.fixture(scope="module")
def paper(chimney):
    from tests.reports.pages import tickets_html

    return tickets_html(chimney[0], "R1").encode()


def _patterns(batch):
    return {piece.id: piece.pattern for piece in batch.pieces}


def test_tickets_read_as_the_pieces_are(paper, chimney):
    assert list(against_tickets(paper, _patterns(chimney[0]))) == []


def _changed(paper: bytes, pattern: str, change) -> bytes:
    return re.sub(pattern, lambda found: change(found[0]), paper.decode(), count=1, flags=re.DOTALL).encode()


@pytest.mark.parametrize(
    ("pattern", "change"),
    [
        (r"<article.*?</article>", lambda _: ""),
        (r"<article.*?</article>", lambda whole: whole + re.sub(r" id=\"[^\"]*\"", "", whole)),
        (r'M[^"M]*Z" class="piece"', lambda way: re.sub(r"L(\d+)", lambda n: f"L{int(n[1]) + 1}", way, count=1)),
        (r'M[^"M]*Z" class="piece"', lambda way: re.sub(r"L[^L]*L", "L", way, count=1)),
    ],
    ids=["lost", "twice", "moved", "cut off"],
)
def test_tickets_that_differ_are_seen(pattern, change, paper, chimney):
    spoilt = _changed(paper, pattern, change)
    assert spoilt != paper
    assert list(against_tickets(spoilt, _patterns(chimney[0])))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("</main>", "<script>1</script></main>", "script"),
        ("</main>", '<p onclick="x"/></main>', "onclick"),
        ("</main>", '<a href="https://example.org">x</a></main>', "href"),
        ("</main>", '<a href="ticketsXhtml#a">x</a></main>', "href"),
        ("</main>", '<img href="tickets.html#a"/></main>', "img"),
        ("</main>", '<a href="#nowhere">x</a></main>', "nowhere"),
        ("</main>", '<p id="a"/><p id="a"/></main>', "two places"),
        ("</main>", "</div>", "not well formed"),
        ("form-action", "form-reaction", "policy"),
    ],
)
def test_a_page_that_could_run_or_fetch_is_misread(old, new, says, paper):
    with pytest.raises(MisreadError, match=says):
        list(read_page(paper.decode().replace(old, new).encode()))


def test_asked_has_nothing_that_a_report_would_give_away():
    """Whoever adds to `Asked` looks at what `making.report_to_send` tells of it."""
    known = {"jobs", "rolls", "practice", "machines", "settings", "formats", "templates", "labels", "one_label"}
    assert set(Asked.__dataclass_fields__) == known | {"settled"}
