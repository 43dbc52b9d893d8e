import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cutpath.paper.lettering import CAPITAL_HEIGHT, LETTER_WIDTH, SIZES_MM, best_place, lettering
from tests.reports.conftest import strip


def letters_box(text, place):
    x, y = place.centre
    half = (LETTER_WIDTH * place.size_mm * len(text) / 2, CAPITAL_HEIGHT * place.size_mm / 2)
    a, b = half[::-1] if place.upwards else half
    return shapely.box(x - a, y - b, x + a, y + b)


@given(st.floats(10, 160), st.floats(3, 60), st.floats(0, 80), st.booleans())
def test_letters_stay_on_the_piece_and_in_the_window(length, width, start, hole):
    pattern = strip(length, width)
    window = (start, start + 60.0)
    x, y = 0.5 * length, 0.1 * width
    holes = (((x, y), (x + 0.2 * length, y), (x + 0.2 * length, 4 * y), (x, 4 * y)),) if hole else ()
    place = best_place("M-S1-R2", pattern.outline, holes, [m.points for m in pattern.marks], window, always=False)
    if place is not None:
        shape = shapely.Polygon(pattern.outline, holes).intersection(shapely.box(window[0], 0, window[1], width))
        assert place.size_mm in SIZES_MM
        assert shape.covers(letters_box("M-S1-R2", place))


def test_letters_keep_clear_of_lines_where_there_is_room():
    square = ((0, 0), (60, 0), (60, 20), (0, 20))
    line = ((0, 10), (60, 10))
    place = best_place("A1", square, (), [line], (0, 60), always=False)
    assert place.size_mm == SIZES_MM[0]
    assert not letters_box("A1", place).intersects(shapely.LineString(line))


def test_letters_stand_upwards_on_a_tall_narrow_piece():
    tall = ((0, 0), (6, 0), (6, 60), (0, 60))
    assert best_place("M-S1-R2", tall, (), (), (0, 6), always=False).upwards


def test_a_piece_too_small_for_its_name_is_named_all_the_same():
    tiny = ((0, 0), (3, 0), (3, 3), (0, 3))
    assert best_place("M-S1-R2", tiny, (), (), (0, 3), always=False) is None
    place = best_place("M-S1-R2", tiny, (), (), (0, 3), always=True)
    assert place.size_mm == SIZES_MM[-1]
    assert shapely.Polygon(tiny).covers(shapely.Point(place.centre))


def test_a_number_on_a_small_piece_at_the_end_of_a_row_does_not_run_out_of_it():
    at_the_end, window = ((57, 0), (60, 0), (60, 3), (57, 3)), (0, 60)
    place = best_place("RY-G2-3", at_the_end, (), (), window, always=True)
    half = LETTER_WIDTH * place.size_mm * len("RY-G2-3") / 2
    assert place.centre == pytest.approx((60 - half, 1.5))


@pytest.mark.parametrize("upwards", [False, True])
def test_text_is_escaped(upwards):
    place = best_place("a", ((0, 0), (9, 0), (9, 9), (0, 9)), (), (), (0, 9), always=True)
    text = lettering("<&>", place.__class__(place.centre, place.size_mm, upwards), "id")
    assert "&lt;&amp;&gt;" in text
    assert ("rotate(-90" in text) is upwards
