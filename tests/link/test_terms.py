"""What a data sheet states becomes a term of the budget, with its kind and its band."""

import numpy as np
import pytest

from linkbudget.core.stated import Stated
from linkbudget.link import terms


def test_an_efficiency_gives_the_mean_gain_and_the_peak_bounds_it():
    term = terms.antenna_gain(Stated(1.5), Stated(0.5))
    assert term.value == pytest.approx(-3.0103)  # 10 log10(0.5)
    assert term.high == pytest.approx(1.5)
    assert term.kind == "stated"


def test_a_peak_gain_alone_may_lie_well_above_the_gain_toward_the_far_end():
    term = terms.antenna_gain(Stated(2.4), None)
    assert term.kind == "typical"
    assert term.high == 2.4
    assert term.low == pytest.approx(2.4 - 5.4)  # peak of 2.36 dBi at 50 %: 5.4 dB over the mean
    assert term.low < term.value < term.high


def test_leaving_out_the_efficiency_never_improves_the_answer():
    # 2.36 dBi at 50 % and 2.51 dBi at 71 %: the two modules behind the typical difference
    for gain_dbi, efficiency in ((2.36, 0.50), (2.51, 0.71)):
        told = terms.antenna_gain(Stated(gain_dbi), Stated(efficiency))
        untold = terms.antenna_gain(Stated(gain_dbi), None)
        assert untold.value == pytest.approx(told.value, abs=0.8)
        assert untold.low - 0.05 <= told.value <= untold.high


def test_nothing_stated_is_assumed_and_says_so():
    for term in (
        terms.antenna_gain(None, None),
        terms.mismatch(None),
        terms.polarisation(None, "linear", None),
        terms.polarisation("unknown", "linear", Stated(0.0)),
        terms.body(None),
    ):
        assert term.kind == "assumed"
        assert term.low is not None
        assert term.source


def test_mismatch_of_ten_decibels_return_loss_costs_half_a_decibel():
    assert terms.mismatch(Stated(10.0)).value == pytest.approx(
        0.4576, abs=1e-4
    )  # -10 log10(1 - 0.1)
    assert terms.mismatch(Stated(10.0), measured_at="port.s1p at 2440 MHz").kind == "measured"


@pytest.mark.parametrize(
    ("product", "far_end", "angle_deg", "loss_db"),
    [
        ("linear", "linear", 0.0, 0.0),
        (None, None, 0.0, 0.0),  # an angle says that both are linear
        ("linear", "linear", 60.0, 6.0206),  # 20 log10(1 / cos 60 deg)
        ("linear", "circular", None, 3.0),
        ("circular", "linear", 30.0, 3.0),
        ("circular", "circular", None, 0.0),
    ],
)
def test_polarisation(product, far_end, angle_deg, loss_db):
    angle = None if angle_deg is None else Stated(angle_deg)
    assert terms.polarisation(product, far_end, angle).value == pytest.approx(loss_db, abs=1e-3)


def test_an_angle_that_nobody_stated_is_any_angle():
    loss = terms.polarisation("linear", "linear", None)
    assert loss.kind == "assumed"
    assert loss.value == pytest.approx(3.0103, abs=0.01)  # the median is that of 45 deg
    table = np.array(loss.table)
    # share of angles whose loss stays below 6.0206 dB: 60 of 90 degrees
    assert np.mean(table <= 6.0206) == pytest.approx(60.0 / 90.0, abs=1e-3)
    # crossed antennas are as impure as at 80 degrees, 20 log10(1 / cos 80 deg)
    assert table.max() == pytest.approx(15.2066, abs=1e-3)
    assert table.min() >= 0.0


def test_an_uncertain_angle_is_bent_by_the_cosine_and_never_adds_level():
    loss = terms.polarisation("linear", "linear", Stated.between(0.0, 60.0))
    assert loss.value == pytest.approx(1.2494, abs=0.01)  # 20 log10(1 / cos 30 deg)
    assert 0.0 <= loss.low < loss.high <= 6.0206
    # beyond 80 degrees the antennas' own impurity decides, 20 log10(1 / cos 80 deg)
    for crossed_deg in (85.0, 90.0):
        crossed = terms.polarisation("linear", "linear", Stated(crossed_deg))
        assert crossed.value == pytest.approx(15.207, abs=1e-3)
        assert "counted as 80 deg" in crossed.source


def test_a_stated_band_stays_with_its_shape():
    body = terms.body(Stated(3.0, 0.0, 8.0, "gaussian"))
    assert (body.low, body.value, body.high, body.shape) == (0.0, 3.0, 8.0, "gaussian")
    toward = terms.antenna_gain(Stated(2.0), None, Stated.between(-6.0, 6.0))
    assert (toward.low, toward.high, toward.shape) == (-6.0, 6.0, "rectangular")
    # thermal noise in 1 MHz at 290 K is -113.98 dBm; the shape of the one doubt is that of the sum
    level = terms.sensitivity(None, 1e6, Stated.between(5.0, 7.0), Stated(12.0))
    assert (level.low, level.high) == pytest.approx((-96.98, -94.98), abs=0.01)
    assert level.shape == "rectangular"
    both = terms.sensitivity(None, 1e6, Stated(6.0, 3.0, 9.0), Stated(12.0, 8.0, 16.0))
    assert both.high - both.value == pytest.approx(5.0)  # 3 and 4 dB as root of squares


def test_an_uncertain_efficiency_widens_what_the_direction_leaves_open():
    exact = terms.antenna_gain(Stated(1.5), Stated(0.5))
    loose = terms.antenna_gain(Stated(1.5), Stated.between(0.3, 0.7))
    assert loose.value == pytest.approx(exact.value, abs=0.02)
    assert loose.low < exact.low
    assert loose.high > exact.high


def test_the_radio_rules_weigh_the_peak_gain():
    assert terms.peak_gain(Stated(2.0), Stated(0.5), None).value == 2.0
    # half of the power, and 4.7 dB that are typical between mean and peak
    assert terms.peak_gain(None, Stated(0.5), None).value == pytest.approx(-3.01 + 4.7, abs=0.01)
    assert terms.peak_gain(None, None, Stated(1.0)).kind == "assumed"
    assert terms.peak_gain(None, None, None).kind == "assumed"


def test_noise_of_a_receiver_of_which_no_figure_is_stated_is_that_of_a_typical_one():
    # kTB in 1 MHz at 290 K is -113.98 dBm
    assert terms.receiver_noise_dbm(1e6, Stated(4.0)) == pytest.approx(-109.98, abs=0.01)
    assert terms.receiver_noise_dbm(1e6, None) == pytest.approx(-107.98, abs=0.01)


def test_sensitivity_from_noise_is_computed():
    # kTB in 1 MHz at 290 K is -113.98 dBm; with 6 dB and 12 dB that is -95.98 dBm
    term = terms.sensitivity(None, 1e6, Stated(6.0), Stated(12.0))
    assert term.value == pytest.approx(-95.98, abs=0.01)
    assert term.kind == "computed"
    assert terms.sensitivity(Stated(-94.0), 1e6, None, None).kind == "stated"


def test_the_rows_that_were_leant_on_are_cited():
    cited = terms.cited_terms([terms.body(None), terms.mismatch(Stated(9.0))])
    assert [row.cells["term"] for row in cited] == ["body not stated"]
