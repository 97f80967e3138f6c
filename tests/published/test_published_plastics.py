"""Plastic beside an antenna: what books print of thick walls, and what practice sees at 2.4 GHz."""

import math

import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.link.terms import lowered_range_hz
from linkbudget.physics.plastics import PlasticPart, effective_permittivity, most_quality_factor


@pytest.mark.published(
    source="K. C. Gupta et al., Microstrip Lines and Slotlines, coplanar strips",
    where="effective permittivity (er + 1)/2 on a thick substrate: 5.4 on alumina of 9.8",
    from_memory=True,
)
def test_a_strip_on_thick_alumina_feels_the_mean_of_both_sides(printed):
    felt = effective_permittivity(9.8, 0.7, 0.0, 100e6, 1e-6)
    assert felt == printed("5.4")


@pytest.mark.published(
    source="A. D. Yaghjian, S. R. Best, Impedance, bandwidth, and Q of antennas, 2005",
    where="bandwidth for a standing wave ratio of 2 is 0.707 / Q",
    from_memory=True,
)
def test_bandwidth_at_a_standing_wave_ratio_of_two(printed):
    return_loss_db = -20.0 * math.log10((2.0 - 1.0) / (2.0 + 1.0))
    low_hz, high_hz = 2.40e9, 2.50e9
    share = (high_hz - low_hz) / math.sqrt(low_hz * high_hz)
    assert share * most_quality_factor(return_loss_db, low_hz, high_hz) == printed("0.707")


@pytest.mark.published(
    source="Web guide to antennas in plastic housings (order of magnitude only; the band is set"
    " by it)",
    where="plastic within 2 mm lowers a 2.4 GHz resonance by 80 to 200 MHz",
    practice=True,
)
def test_a_wall_of_abs_within_2_mm_lowers_the_resonance_as_practice_sees():
    abs_2_8 = Quantity(2.8, "1", "typical", 2.4, 3.0)

    def lowered_mhz(gap_m):
        wall = PlasticPart("ABS", abs_2_8, 0.002, gap_m)
        return [hz / 1e6 for hz in lowered_range_hz([wall], 2.44e9)]

    low, _, high = lowered_mhz(0.001)
    assert low <= 80.0
    assert high >= 200.0
    for gap_m in (0.0, 0.002):  # at the ends the bands still reach into it
        low, _, high = lowered_mhz(gap_m)
        assert low < 200.0
        assert high > 80.0
    assert all(80.0 < lowered_mhz(gap_m)[1] < 200.0 for gap_m in (0.0005, 0.001))
