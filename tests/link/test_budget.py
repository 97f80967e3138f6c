"""The budget adds up, its bands combine, and it says what nobody stated."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, MissingData, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.link.budget import LinkInputs, MetalLoss, budget, combine
from linkbudget.link.fades import FadeLaw
from linkbudget.link.laws import open_air

NO_FADING = FadeLaw("none", 0.5).allowance
AIR = open_air(2.44e9)


def banded(low, high, unit="dB"):
    def build(value, below, above):
        return Quantity(value, unit, "stated", value - below, value + above)

    return st.builds(build, st.floats(low, high), st.floats(0.0, 10.0), st.floats(0.0, 10.0))


def plain(value, unit="dB"):
    return Quantity(value, unit, "stated")


losses = banded(0.0, 30.0) | st.builds(plain, st.floats(0.0, 30.0))
inputs_strategy = st.builds(
    LinkInputs,
    frequency_hz=st.floats(1e8, 6e9),
    conducted_power=banded(-30.0, 30.0, "dBm"),
    cable=losses,
    mismatch=losses,
    antenna_gain=banded(-20.0, 20.0, "dBi"),
    body=losses,
    polarisation=losses,
    far_gain=banded(-20.0, 20.0, "dBi"),
    far_mismatch=losses,
    far_cable=losses,
    sensitivity=banded(-140.0, -40.0, "dBm"),
)
metals = st.none() | st.builds(MetalLoss, losses, banded(-5.0, 60.0))


@pytest.fixture
def inputs():
    return LinkInputs(
        frequency_hz=2.44e9,
        conducted_power=plain(4.0, "dBm"),
        antenna_gain=plain(0.0, "dBi"),
        far_gain=plain(-2.0, "dBi"),
        sensitivity=plain(-90.0, "dBm"),
    )


@given(inputs_strategy, st.floats(1.0, 1e4), metals)
def test_the_lines_add_up_to_the_received_level(inputs, distance_m, metal):
    result = budget(inputs, open_air(inputs.frequency_hz), distance_m, NO_FADING, metal)
    assert math.fsum(line.value.value for line in result.lines) == result.received.value
    assert result.above_sensitivity.value == pytest.approx(
        result.received.value - result.sensitivity.value
    )


@given(inputs_strategy, metals, losses)
def test_band_is_the_root_sum_of_squares_of_everything(inputs, metal, fade):
    result = budget(inputs, open_air(inputs.frequency_hz), 10.0, fade, metal)
    terms = [line.value for line in result.lines]
    terms += [inputs.sensitivity.negated(), fade.negated()]
    below = math.sqrt(sum((term.value - term.band[0]) ** 2 for term in terms))
    above = math.sqrt(sum((term.band[1] - term.value) ** 2 for term in terms))
    low, high = result.margin.band
    assert result.margin.value - low == pytest.approx(below, abs=1e-9)
    assert high - result.margin.value == pytest.approx(above, abs=1e-9)


@given(inputs_strategy, st.floats(1.0, 100.0), st.floats(1.01, 100.0))
def test_further_away_is_weaker(inputs, distance_m, factor):
    room = open_air(inputs.frequency_hz)
    near = budget(inputs, room, distance_m, NO_FADING).received.value
    assert budget(inputs, room, distance_m * factor, NO_FADING).received.value < near


def test_a_budget_worked_by_hand(inputs):
    # 20 log10(4 pi 10 m / 122.87 mm) = 60.20 dB; 4 + 0 - 60.20 - 2 = -58.20 dBm
    metal = MetalLoss(plain(2.0), plain(11.0))
    free = budget(inputs, AIR, 10.0, plain(20.0))
    assert free.received.value == pytest.approx(-58.20, abs=0.005)
    assert free.above_sensitivity.value == pytest.approx(31.80, abs=0.005)
    assert free.margin.value == pytest.approx(11.80, abs=0.005)
    assert budget(inputs, AIR, 10.0, plain(20.0), metal).margin.value == pytest.approx(
        -1.20, abs=0.005
    )


def test_the_lines_stand_in_the_order_of_the_signal(inputs):
    metal = MetalLoss(plain(2.0), plain(11.0))
    names = [line.name for line in budget(inputs, AIR, 10.0, NO_FADING, metal).lines]
    assert names == [
        "conducted power",
        "cable loss (product)",
        "mismatch loss (product)",
        "antenna gain (product)",
        "metal: at the antenna's port",
        "metal: toward the far end",
        "transmission loss, free space",
        "body loss",
        "polarisation loss",
        "antenna gain (far end)",
        "mismatch loss (far end)",
        "cable loss (far end)",
    ]
    without = [line.name for line in budget(inputs, AIR, 10.0, NO_FADING).lines]
    assert without == [name for name in names if not name.startswith("metal")]


def test_a_loss_enters_with_a_minus_and_its_band_turned(inputs):
    metal = MetalLoss(plain(2.0), Quantity(11.0, "dB", "typical", 9.0, 16.0))
    lines = {line.name: line.value for line in budget(inputs, AIR, 10.0, NO_FADING, metal).lines}
    assert lines["metal: at the antenna's port"].value == -2.0
    assert lines["metal: toward the far end"].band == (-16.0, -9.0)
    assert lines["transmission loss, free space"].value == pytest.approx(-60.20, abs=0.005)


def test_what_nobody_stated_is_shown_as_assumed(inputs):
    lines = budget(inputs, AIR, 10.0, NO_FADING).lines
    assumed = {line.name: line.value.value for line in lines if line.value.kind == "assumed"}
    assert len(assumed) == 6
    assert set(assumed.values()) == {0.0}


def test_a_link_without_bands_has_none(inputs):
    result = budget(inputs, AIR, 10.0, NO_FADING)
    assert result.margin.low is None
    assert result.margin.coverage == ""


def test_a_lopsided_band_stays_lopsided():
    total = combine(
        [Quantity(0.0, "dB", "typical", -3.0, 0.0), Quantity(0.0, "dB", "typical", -4.0, 1.0)],
        "dB",
        "sum",
    )
    assert total.band == (-5.0, 1.0)
    assert "root sum of squares" in total.coverage


def test_a_negative_loss_is_refused(inputs):
    with pytest.raises(InputError, match="Write a loss as a positive number") as caught:
        LinkInputs(
            frequency_hz=2.44e9,
            conducted_power=plain(4.0, "dBm"),
            cable=plain(-1.0),
            antenna_gain=plain(0.0, "dBi"),
            far_gain=plain(0.0, "dBi"),
            sensitivity=plain(-90.0, "dBm"),
        )
    assert caught.value.field == "cable"


def test_a_distance_in_the_near_field_is_refused(inputs):
    with pytest.raises(OutOfRange, match="wavelength/2 pi"):
        budget(inputs, AIR, 0.01, NO_FADING)


def test_fading_allowance_says_what_it_is_relative_to():
    # -10 log10(-ln 0.99) = 19.98; 1.2816 x 8 = 10.25
    rayleigh = FadeLaw("rayleigh", 0.99, "places").allowance
    assert rayleigh.value == pytest.approx(19.98, abs=0.005)
    assert rayleigh.source == "rayleigh fading, 0.99 of places, relative to the mean power"
    log_normal = FadeLaw("log-normal", 0.90, sigma=plain(8.0)).allowance
    assert log_normal.value == pytest.approx(10.25, abs=0.005)
    assert "time or places, relative to the median level" in log_normal.source
    assert NO_FADING.value == 0.0


def test_a_low_reliability_earns_no_bonus():
    assert FadeLaw("rayleigh", 0.2).allowance.value == 0.0
    assert FadeLaw("log-normal", 0.2, sigma=plain(8.0)).allowance.value == 0.0


def test_fading_needs_its_facts():
    with pytest.raises(MissingData, match="Rice factor"):
        FadeLaw("rice", 0.99)
    with pytest.raises(MissingData, match="standard deviation"):
        FadeLaw("log-normal", 0.9)
    with pytest.raises(OutOfRange, match="No finite margin"):
        _ = FadeLaw("rayleigh", 1.0).allowance
