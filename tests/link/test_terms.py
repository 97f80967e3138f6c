"""What a data sheet states becomes a term of the budget, with its kind and its band."""

import pytest

from linkbudget.link import terms


def test_an_efficiency_gives_the_mean_gain_and_the_peak_bounds_it():
    term = terms.antenna_gain(1.5, 0.5)
    assert term.value == pytest.approx(-3.0103)  # 10 log10(0.5)
    assert term.high == pytest.approx(1.5)
    assert term.kind == "stated"


def test_a_peak_gain_alone_may_lie_well_above_the_gain_toward_the_far_end():
    term = terms.antenna_gain(2.4, None)
    assert term.kind == "typical"
    assert term.high == 2.4
    assert term.low == pytest.approx(2.4 - 5.4)  # peak of 2.36 dBi at 50 %: 5.4 dB over the mean
    assert term.low < term.value < term.high


def test_leaving_out_the_efficiency_never_improves_the_answer():
    # 2.36 dBi at 50 % and 2.51 dBi at 71 %: the two modules behind the typical difference
    for gain_dbi, efficiency in ((2.36, 0.50), (2.51, 0.71)):
        told = terms.antenna_gain(gain_dbi, efficiency)
        untold = terms.antenna_gain(gain_dbi, None)
        assert untold.value == pytest.approx(told.value, abs=0.8)
        assert untold.low - 0.05 <= told.value <= untold.high


def test_nothing_stated_is_assumed_and_says_so():
    for term in (
        terms.antenna_gain(None, None),
        terms.mismatch(None),
        terms.polarisation(None, "linear", None),
        terms.polarisation("unknown", "linear", 0.0),
        terms.body(None),
    ):
        assert term.kind == "assumed"
        assert term.low is not None
        assert term.source


def test_mismatch_of_ten_decibels_return_loss_costs_half_a_decibel():
    assert terms.mismatch(10.0).value == pytest.approx(0.4576, abs=1e-4)  # -10 log10(1 - 0.1)
    assert terms.mismatch(10.0, measured_at="port.s1p at 2440 MHz").kind == "measured"


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
    assert terms.polarisation(product, far_end, angle_deg).value == pytest.approx(loss_db, abs=1e-3)


def test_sensitivity_from_noise_is_computed():
    # kTB in 1 MHz at 290 K is -113.98 dBm; with 6 dB and 12 dB that is -95.98 dBm
    term = terms.sensitivity(None, 1e6, 6.0, 12.0)
    assert term.value == pytest.approx(-95.98, abs=0.01)
    assert term.kind == "computed"
    assert terms.sensitivity(-94.0, 1e6, None, None).kind == "stated"


def test_the_rows_that_were_leant_on_are_cited():
    cited = terms.cited_terms([terms.body(None), terms.mismatch(9.0)])
    assert [row.cells["term"] for row in cited] == ["body not stated"]
