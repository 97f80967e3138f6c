"""Permitted powers that others printed, and the worked cases of the exposure rule."""

import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.core.tables import load_sourced_rows
from linkbudget.core.units import parse
from linkbudget.link.exposure import near_threshold_mw
from linkbudget.link.legal_power import Transmission, power_rows
from linkbudget.link.power_lines import power_line
from linkbudget.physics.propagation import (
    eirp_dbm_from_field_dbuv_per_m,
    field_dbuv_per_m_from_eirp_dbm,
)

DIGEST = "university digest of 47 CFR Part 15"
REPORT = "application report TI SWRA670A, Apr 2020, rev Oct 2022"
EXHIBIT = "FCC exposure exhibit, 1.1307(b)(3)(i)(B) worked case"
DRAFT = "public text citing EN 300 328 V2.2.2"


@pytest.mark.published(source="EMC formula sheets", where="1 mW e.i.r.p. at 3 m", from_memory=True)
def test_one_milliwatt_makes_95_decibels_at_three_metres(printed):
    assert field_dbuv_per_m_from_eirp_dbm(0.0, 3.0) == printed("95.2")


@pytest.mark.published(source="47 CFR 15.249(a), public copy", where="50 mV/m as e.i.r.p.")
def test_field_strength_route_as_radiated_power(printed):
    line = power_line("fcc15249-average")
    assert line.level == printed("94.0")
    assert eirp_dbm_from_field_dbuv_per_m(line.level, 3.0) == printed("-1.2")


@pytest.mark.published(
    source="FCC 47 CFR 15.249(a) and measurement guidance",
    where="500 uV/m at 3 m as e.i.r.p.",
    from_memory=True,
)
def test_harmonics_of_the_field_strength_route(printed):
    assert eirp_dbm_from_field_dbuv_per_m(power_line("fcc15249-harmonics").level, 3.0) == printed(
        "-41.2"
    )


@pytest.mark.published(
    source="laboratory report ACWE-F2101012", where="53.98 and 73.98 dBuV/m: peak over average"
)
def test_peak_line_lies_twenty_decibels_above_the_average(printed):
    assert power_line("fcc15249-peak").level == printed("20.00")


@pytest.mark.published(source=DRAFT, where="clauses 4.3.2.2.3 and 4.3.2.3.3")
def test_european_power_and_density(printed):
    power, density = power_line("en300328-power"), power_line("en300328-density")
    assert power.level == printed("20")
    assert (density.level, density.per_hz) == (10.0, 1e6)
    assert parse("100 mW", "power level") == printed("20.0")


@pytest.mark.published(source=REPORT, where="adaptivity below 10 dBm e.i.r.p.; medium utilisation")
def test_spectrum_sharing_begins_at_ten_milliwatts(printed):
    sharing = power_line("en300328-sharing")
    assert sharing.level == printed("10")
    assert sharing.starts_at_line
    assert parse("10 mW", "power level") == printed("10.0")
    assert power_line("en300328-medium-use").written == "10 %"


@pytest.mark.published(source=DIGEST, where="15.247(b)(1), (b)(3), (b)(4), (e)")
@pytest.mark.parametrize(
    ("rule_id", "level"),
    [
        ("fcc15247-digital", "30"),
        ("fcc15247-hopping-75", "30"),
        ("fcc15247-hopping-15", "21"),  # 0.125 W
        ("fcc15247-gain", "6"),
        ("fcc15247-density", "8"),
    ],
)
def test_united_states_conducted_lines(rule_id, level, printed):
    assert power_line(rule_id).level == printed(level)


@pytest.mark.published(source="public texts on EN 62479", where="low-power exclusion, 20 mW")
def test_european_exclusion(printed):
    assert power_line("en62479-low-power").level == printed("13.0")


@pytest.mark.published(source=EXHIBIT, where="2480 MHz at 5 mm, 2.72 mW")
def test_exposure_threshold_at_five_millimetres(printed):
    assert near_threshold_mw(2.480e9, 0.005, 3060.0) == printed("2.72")


@pytest.mark.published(source=EXHIBIT, where="2480 MHz at 5 mm, as the row of a whole transmitter")
def test_the_exposure_row_holds_the_exhibits_threshold():
    radio = Transmission(
        band_hz=(2.402e9, 2.480e9),
        conducted_power=Quantity(4.0, "dBm", "stated"),
        peak_gain=Quantity(0.0, "dBi", "stated"),
        metal_gain=None,
        cable_loss=Quantity(0.0, "dB", "stated"),
        channel_bandwidth_hz=2e6,
        technology="digital modulation",
        duty_cycle=1.0,
        separation_m=0.005,
    )
    row = next(row for row in power_rows(radio) if row.clause == "(b)(3)(i)(B)")
    assert 10.0 ** (row.limit / 10.0) == pytest.approx(2.72, abs=0.005)
    assert row.margin.value == pytest.approx(4.35 - 4.0, abs=0.01)  # 10 log10(2.72) less 4 dBm


def test_every_row_says_check_against_the_document():
    rows = load_sourced_rows("limits/transmit_power.csv")
    assert len(rows) >= 15
    for row in rows:
        assert "check against the" in row.source.status
        assert (row.cells["low_hz"], row.cells["high_hz"]) == ("2400000000", "2483500000")
