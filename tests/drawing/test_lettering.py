from itertools import combinations

import pytest
import shapely

from cutpath.drawing.lettering import letter, text_width_mm
from cutpath.drawing.overlap import overlaps, segments_of

SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-/.,:()+×°&'\"=%#*"


def ink(text, height=10.0):
    return shapely.MultiLineString(list(letter(text, height)))


@pytest.mark.parametrize("sign", SIGNS)
def test_every_sign_stands_on_its_grid(sign):
    left, low, right, top = ink(sign).bounds
    assert left >= 0
    assert right <= text_width_mm(sign, 10.0) + 1e-9
    assert low >= -2
    assert top <= 12
    for stroke in letter(sign, 10.0):
        assert shapely.LineString(stroke).is_simple
        assert min(shapely.length(shapely.linestrings(list(segments_of(stroke, closed=False))))) > 0.1


@pytest.mark.parametrize("sign", "ABCDEFGHIJKLMNOPRSTUVWXYZ0123456789")
def test_letters_and_figures_fill_the_capital_height(sign):
    _, low, _, top = ink(sign, 7.0).bounds
    assert low == pytest.approx(0, abs=1e-9)
    assert top == pytest.approx(7.0)


@pytest.mark.parametrize("sign", SIGNS)
def test_no_line_of_a_sign_is_drawn_twice(sign):
    assert overlaps([g for s in letter(sign, 10.0) for g in segments_of(s, closed=False)], 1e-6) == ()


def test_no_two_signs_look_alike():
    near = {(a, b): shapely.hausdorff_distance(ink(a), ink(b), densify=0.1) for a, b in combinations(SIGNS, 2)}
    assert min(near.values()) > 0.8
    assert min(d for (a, b), d in near.items() if a.isalnum() and b.isalnum()) > 1.0
    assert near["O", "0"] > 1.3
    assert near["I", "1"] > 1.3


def test_small_letters_and_accents_become_capitals():
    assert letter("élan", 10.0) == letter("ELAN", 10.0)
    assert letter("½ – x", 5.0) == letter("1/2 - X", 5.0)


def test_a_sign_that_the_alphabet_lacks_becomes_an_empty_box():
    (box,) = letter("漢", 10.0)
    assert shapely.Polygon(box).area == pytest.approx(50.0)


def test_size_is_proportional_and_spaces_are_wider_than_gaps():
    assert text_width_mm("AB", 20.0) == pytest.approx(2 * text_width_mm("AB", 10.0))
    assert text_width_mm("A B", 10.0) == pytest.approx(text_width_mm("AB", 10.0) + 4.0)
    assert text_width_mm("", 10.0) == 0
    assert letter("", 10.0) == ()
    assert ink("M-S1-R2").bounds[2] == pytest.approx(text_width_mm("M-S1-R2", 10.0), abs=0.6)


def test_figures_are_of_one_width():
    assert len({text_width_mm(d, 10.0) for d in "0123456789"}) == 1
