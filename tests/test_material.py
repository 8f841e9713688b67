"""Blanks and their material: geometry checked by other forms of itself, whole blanks by counting."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costmodel.errors import LimitError
from costmodel.formulas import blanks, material

SIZES = st.floats(1.0, 500.0)


@settings(deadline=None)
@given(SIZES, SIZES)
def test_a_tube_and_its_bore_fill_the_bar(diameter: float, length: float) -> None:
    bore = diameter / 3.0
    tube = blanks.tube_volume(diameter, bore, length)
    assert tube + blanks.round_volume(bore, length) == pytest.approx(blanks.round_volume(diameter, length))


def test_shapes_lie_between_their_circles() -> None:
    hexagon = blanks.hexagon_volume(10.0, 1.0)
    assert hexagon == pytest.approx(6 * 0.5 * 5.0 * (10.0 / np.sqrt(3.0)))
    assert blanks.hexagon_volume(10.0, 7.0) == pytest.approx(7.0 * hexagon)
    assert blanks.hexagon_volume(30.0, 1.0) == pytest.approx(9.0 * hexagon)
    assert blanks.round_volume(10.0, 1.0) < hexagon < blanks.plate_volume(10.0, 10.0, 1.0)
    assert blanks.plate_volume(2.0, 3.0, 4.0) == 24.0
    assert blanks.round_volume(2.0, 1.0) == pytest.approx(np.pi)


def test_a_litre_of_water_weighs_a_kilogram() -> None:
    assert blanks.blank_mass(blanks.plate_volume(100.0, 100.0, 100.0), 1e-6) == pytest.approx(1.0)


def counted(bar: float, part: float, kerf: float, remnant: float, saved: bool) -> int:
    """Blanks sawn one after the other until what is left gives none."""
    count, left = 0, bar - remnant
    while left >= part + kerf - 1e-9:
        count, left = count + 1, left - part - kerf
    return count + (saved and left >= part - 1e-9)


@settings(deadline=None)
@given(st.integers(500, 3000), st.integers(20, 400), st.integers(0, 5), st.integers(0, 200))
def test_whole_blanks_are_counted(bar: int, part: int, kerf: int, remnant: int) -> None:
    given_lengths = (float(bar), float(part), float(kerf), float(remnant))
    assert blanks.parts_per_bar(*given_lengths) == counted(bar, part, kerf, remnant, saved=False)
    assert blanks.parts_per_bar(*given_lengths, "saved") == counted(bar, part, kerf, remnant, saved=True)


def test_the_last_cut_is_saved_where_the_end_is_the_blank() -> None:
    """Three blanks of 100 with cuts of 5 need 315 mm, or 310 where nothing is cut off the last."""
    for bar, needed, saved in ((315.0, 3, 3), (314.0, 2, 3), (310.0, 2, 3), (309.0, 2, 2)):
        assert blanks.parts_per_bar(bar, 100.0, 5.0, 0.0) == needed
        assert blanks.parts_per_bar(bar, 100.0, 5.0, 0.0, "saved") == saved


def test_a_bar_shorter_than_its_remnant_gives_nothing() -> None:
    assert blanks.parts_per_bar(100.0, 30.0, 2.0, 200.0) == 0.0


def test_rounding_does_not_lose_a_blank() -> None:
    assert blanks.parts_per_bar(0.3, 0.1, 0.0, 0.0) == 3.0


def test_every_blank_pays_its_share_of_the_bar() -> None:
    parts = blanks.parts_per_bar(3000.0, 95.0, 3.0, 60.0)
    assert parts == 30.0
    assert blanks.bar_length_per_part(3000.0, parts) == 100.0


def test_material_of_one_blank() -> None:
    assert material.material_cost(0.62, 6.834, 1.20, 0.41, 1.10) == pytest.approx(4.99, abs=0.005)
    assert material.material_cost(1.0, 5.0, 0.0, 0.0, 0.0) == 5.0
    assert material.material_cost(0.4, 5.0, 0.0, 0.4, 1.0) == pytest.approx(1.6)


def test_a_minimum_buy_binds_below_it_only() -> None:
    assert material.bought_mass(np.array([3.0, 25.0]), 10.0) == pytest.approx([10.0, 25.0])


def test_what_is_removed_becomes_chips() -> None:
    blank, part = 200.0e3, 80.0e3
    removed = material.removed_volume(blank, part)
    assert removed == 120.0e3
    assert material.chip_share(blank, part) == pytest.approx(0.6)
    assert material.chip_mass(removed, 2.7e-6, 0.9) == pytest.approx(0.2916)
    assert material.chip_share(blank, blank) == 0.0


def test_sizes_that_contradict_each_other_are_refused() -> None:
    with pytest.raises(LimitError, match="inner_diameter"):
        blanks.tube_volume(10.0, np.array([5.0, 10.0]), 1.0)
    with pytest.raises(LimitError, match="chip_mass"):
        material.material_cost(0.4, 5.0, 0.0, np.array([0.1, 0.5]), 1.0)
    with pytest.raises(LimitError, match="part_volume"):
        material.removed_volume(100.0, np.array([50.0, 101.0]))
