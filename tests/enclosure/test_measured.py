"""Pairs of measurements with and without the metal: what they give, and when they are refused."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.geometry import Metal, Plate, StatedAttenuation
from linkbudget.enclosure.measured import (
    AS_MEASURED,
    levels_loss,
    measured_effect,
    touchstone_loss,
)
from linkbudget.enclosure.paths import metal_effect

LOW_HZ, HIGH_HZ = 2.400e9, 2.480e9
LID = metal_effect(
    Plate(0.18, 0.12, 0.0015, Metal("aluminium", 3.5e7), 0.012, 0.06), 2.44e9, "above"
)
ESTIMATE = Quantity(14.0, "dB", "computed", 10.0, 17.0)


@pytest.fixture
def sweep(tmp_path):
    """A file writer: |S11| and |S21| in dB at 2400, 2420, ... MHz."""

    def _write(name, s11_db, s21_db=None, start_mhz=2400, step_mhz=20):
        lines = ["# MHz S DB R 50"]
        for number, s11 in enumerate(s11_db):
            row = f"{start_mhz + step_mhz * number} {s11} 0"
            if s21_db is not None:
                row += f" {s21_db[number]} 30 {s21_db[number]} 30 -12 0"
            lines.append(row)
        path = tmp_path / f"{name}.s{1 if s21_db is None else 2}p"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return _write


# --- two ports: the whole loss toward the probe --------------------------------------------------


def test_two_ports_give_the_whole_loss_and_the_mismatch_in_it(sweep):
    with_metal = sweep("lid", [-3.0103] * 5, [-50.0] * 5)
    without = sweep("bare", [-300.0] * 5, [-38.0] * 5)
    found = touchstone_loss(with_metal, without, LOW_HZ, HIGH_HZ, estimated=ESTIMATE)
    assert found.loss.value == pytest.approx(12.0)
    assert found.loss.band == pytest.approx((11.0, 13.0))  # the repeatability of a set-up
    assert found.loss.kind == "measured"
    assert found.detuning.value == pytest.approx(3.0103, abs=1e-4)  # half of it reflected
    assert found.off_by_db == pytest.approx(2.0)
    assert found.estimated is ESTIMATE
    assert found.points == 5
    assert found.sees_shadow
    assert "one probe" in found.cautions[0]


def test_the_band_is_averaged_in_power(sweep):
    # half of the band at 0 dB, half gone: 3.01 dB, whatever the depth of the notch
    with_metal = sweep("lid", [-20] * 3, [-40.0, -240.0, -40.0], step_mhz=40)
    without = sweep("bare", [-20] * 3, [-40.0, -40.0, -40.0], step_mhz=40)
    found = touchstone_loss(with_metal, without, LOW_HZ, HIGH_HZ)
    assert found.loss.value == pytest.approx(3.0103, abs=1e-3)
    low, high = found.loss.band
    assert low <= 0.0 + 1e-6
    assert high > 150.0  # single frequencies lie that far off, and the band says so


def test_uneven_steps_count_by_their_width(sweep, tmp_path):
    def uneven(name, levels):
        path = tmp_path / name
        rows = (
            f"{mhz} -20 0 {level} 0 {level} 0 -20 0"
            for mhz, level in zip((2400, 2401, 2402, 2480), levels, strict=True)
        )
        path.write_text("# MHz S DB R 50\n" + "\n".join(rows) + "\n", encoding="utf-8")
        return path

    with_metal = uneven("lid.s2p", [-60.0, -60.0, -40.0, -40.0])
    without = uneven("bare.s2p", [-40.0] * 4)
    loss = touchstone_loss(with_metal, without, LOW_HZ, HIGH_HZ).loss.value
    # 1.5 of 80 MHz lost: 10 log10(80 / 78.5) = 0.08 dB; by points it would be 3 dB
    assert loss == pytest.approx(0.08, abs=0.01)


# --- one port: the mismatch alone ----------------------------------------------------------------


def test_one_port_sees_the_mismatch_and_says_so(sweep):
    with_metal, without = sweep("lid", [-1.0] * 5), sweep("bare", [-15.0] * 5)
    found = touchstone_loss(
        with_metal, without, LOW_HZ, HIGH_HZ, estimated=ESTIMATE, estimated_detuning=LID.detuning
    )
    # (1 - 10^-1.5) / (1 - 10^-0.1) = 0.9684 / 0.2057, by hand
    assert found.loss.value == pytest.approx(10 * math.log10(0.96838 / 0.20567), abs=0.001)
    assert found.loss == found.detuning
    assert not found.sees_shadow
    assert "shadow" in found.cautions[0]
    # held against the estimate of the same thing, never against the whole loss
    assert found.estimated is LID.detuning
    assert found.off_by_db == pytest.approx(LID.detuning.value - found.loss.value)


def test_one_port_leaves_the_estimated_way_out(sweep):
    found = touchstone_loss(sweep("lid", [-1.0] * 5), sweep("bare", [-15.0] * 5), LOW_HZ, HIGH_HZ)
    assert found.off_by_db is None
    effect = measured_effect(found, LID)
    assert effect.detuning == found.loss
    assert effect.total.value == pytest.approx(LID.way_out.value + found.loss.value)
    assert effect.total.kind == "computed"
    assert effect.way_out.value == pytest.approx(LID.way_out.value)
    assert effect.scatter == LID.scatter
    assert effect.paths == LID.paths
    assert set(LID.cautions) < set(effect.cautions)


# --- refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("count", "start_mhz", "step_mhz", "says"),
    [
        (5, 2401, 20, "needed at frequency"),
        (3, 2400, 20, "needed at frequency"),
        (9, 2400, 10, "sweeps that differ"),
        (4, 2395, 30, "sweeps that differ"),
    ],
)
def test_another_sweep_is_refused(sweep, count, start_mhz, step_mhz, says):
    with_metal = sweep("lid", [-10] * count, [-50] * count, start_mhz, step_mhz)
    without = sweep("bare", [-10] * 5, [-40] * 5)
    with pytest.raises(InputError, match=says) as caught:
        touchstone_loss(with_metal, without, LOW_HZ, HIGH_HZ)
    assert caught.value.file == str(with_metal)


def test_the_file_that_does_not_cover_the_band_is_named(sweep):
    with_metal, without = sweep("lid", [-10] * 5), sweep("bare", [-10] * 4)
    with pytest.raises(OutOfRange) as caught:
        touchstone_loss(with_metal, without, LOW_HZ, HIGH_HZ)
    assert caught.value.file == str(without)


def test_too_few_points_and_mixed_ports_are_refused(sweep):
    with pytest.raises(InputError, match="2 points in the band"):
        touchstone_loss(sweep("lid", [-10] * 5), sweep("bare", [-10] * 5), LOW_HZ, LOW_HZ + 20e6)
    with pytest.raises(InputError, match="same ports"):
        touchstone_loss(
            sweep("lid", [-10] * 5), sweep("bare", [-10] * 5, [-40] * 5), LOW_HZ, HIGH_HZ
        )


def test_nothing_at_the_probe_is_refused(tmp_path, sweep):
    path = tmp_path / "lid.s2p"
    rows = (f"{mhz} 0.1 0 0 0 0 0 0.1 0" for mhz in range(2400, 2490, 20))
    path.write_text("# MHz S MA R 50\n" + "\n".join(rows) + "\n", encoding="utf-8")
    with pytest.raises(InputError, match="nothing arrives") as caught:
        touchstone_loss(path, sweep("bare", [-10] * 5, [-40] * 5), LOW_HZ, HIGH_HZ)
    assert caught.value.file == str(path)


@pytest.mark.parametrize(("gain_db", "told"), [(10.5, True), (9.5, False)])
def test_metal_that_helps_too_much_is_doubted(sweep, gain_db, told):
    found = touchstone_loss(
        sweep("lid", [-10] * 5, [-40.0 + gain_db] * 5),
        sweep("bare", [-10] * 5, [-40.0] * 5),
        LOW_HZ,
        HIGH_HZ,
    )
    assert any("exchanged" in caution for caution in found.cautions) == told
    levels = levels_loss([-60.0 + gain_db] * 3, [-60.0] * 3)
    assert any("exchanged" in caution for caution in levels.cautions) == told


# --- levels --------------------------------------------------------------------------------------


def test_levels_are_paired_place_by_place():
    # differences 10, 11, 12, 15: mean 12, s = 2.1602; t(0.975, 3) = 3.182 in any table
    found = levels_loss([-70, -81, -62, -75], [-60, -70, -50, -60], estimated=ESTIMATE)
    assert found.loss.value == pytest.approx(12.0)
    assert found.loss.band[1] - 12.0 == pytest.approx(3.182 * 2.1602 / 2.0, abs=0.001)
    assert found.loss.band[0] - 12.0 == pytest.approx(-3.182 * 2.1602 / 2.0, abs=0.001)
    assert found.off_by_db == pytest.approx(2.0)
    assert (found.points, found.detuning, found.sees_shadow) == (4, None, True)


def test_levels_that_agree_by_chance_keep_the_repeatability():
    assert levels_loss([-70, -80, -90], [-60, -70, -80]).loss.band == pytest.approx((9.0, 11.0))


@pytest.mark.parametrize(("count", "half_db"), [(1, 15.44), (2, 10.92)])
def test_one_or_two_pairs_have_the_band_of_fading(count, half_db):
    # 1.96 sqrt(2) 5.57 dB / sqrt(n), the standard deviation of a Rayleigh level in dB
    found = levels_loss([-70.0] * count, [-60.0] * count)
    assert found.loss.band == pytest.approx((10.0 - half_db, 10.0 + half_db), abs=0.01)
    assert any("Add places" in caution for caution in found.cautions)


@given(
    st.lists(st.tuples(st.floats(-110, -20), st.floats(-110, -20)), min_size=3, max_size=20),
    st.floats(-20, 20),
)
def test_an_instrument_that_reads_high_changes_nothing(pairs, offset_db):
    with_dbm, without_dbm = map(list, zip(*pairs, strict=True))
    plain = levels_loss(with_dbm, without_dbm).loss
    shifted = levels_loss(
        [level + offset_db for level in with_dbm], [level + offset_db for level in without_dbm]
    ).loss
    turned = levels_loss(without_dbm, with_dbm).loss
    assert shifted.value == pytest.approx(plain.value, abs=1e-9)
    assert turned.band == pytest.approx((-plain.band[1], -plain.band[0]), abs=1e-9)


def test_95_of_100_bands_hold_the_truth_under_fading():
    # simulation: 12 dB of metal, four places, independent Rayleigh fading in all eight levels
    draws = np.random.default_rng(4).exponential(size=(2000, 2, 4))
    levels_dbm = 10.0 * np.log10(draws) - 60.0
    held = 0
    for without, with_metal in levels_dbm:
        low, high = levels_loss((with_metal - 12.0).tolist(), without.tolist()).loss.band
        held += low <= 12.0 <= high
    assert 0.93 <= held / 2000 <= 0.97


@pytest.mark.parametrize(
    ("with_dbm", "without_dbm", "says"),
    [
        ([], [], "0 levels"),
        ([-60.0], [-50.0, -51.0], "1 levels with the metal and 2 without"),
        ([-60.0, math.nan], [-50.0, -50.0], "no number"),
        ([-60.0, -math.inf], [-50.0, -50.0], "no number"),
    ],
)
def test_levels_that_are_no_pairs_are_refused(with_dbm, without_dbm, says):
    with pytest.raises(InputError, match=says):
        levels_loss(with_dbm, without_dbm)


def test_measured_replaces_the_estimate_whole():
    found = levels_loss([-70, -81, -62, -75], [-60, -70, -50, -60], estimated=LID.total)
    effect = measured_effect(found, LID)
    assert effect.total == found.loss
    assert effect.total.kind == "measured"
    assert (effect.dominant, effect.paths, effect.toward) == (AS_MEASURED, (), "above")
    assert effect.detuning is None  # levels do not tell it apart
    assert effect.scatter.band == (0.0, 0.0)
    # the link sees the measured loss, and nothing else
    assert effect.in_one_direction.value == pytest.approx(found.loss.value)
    assert effect.in_one_direction.band == pytest.approx(found.loss.band)
    assert effect.largest_gain == LID.largest_gain
    # what limits the estimate does not limit what was measured
    assert LID.cautions
    assert not set(LID.cautions) & set(effect.cautions)


# --- another direction than the far end's --------------------------------------------------------


def test_two_ports_toward_another_side_give_the_mismatch_alone(sweep):
    with_metal = sweep("lid", [-3.0103] * 5, [-50.0] * 5)
    without = sweep("bare", [-300.0] * 5, [-38.0] * 5)
    found = touchstone_loss(with_metal, without, LOW_HZ, HIGH_HZ, toward="below")
    effect = measured_effect(found, LID)
    assert effect.detuning == found.detuning
    assert effect.total.value == pytest.approx(LID.way_out.value + 3.0103, abs=1e-3)
    assert effect.paths == LID.paths
    assert effect.scatter == LID.scatter
    assert (
        "below, while the far end is above: of this measurement the mismatch"
        in (effect.cautions[0])
    )
    assert set(LID.cautions) < set(effect.cautions)


@pytest.mark.parametrize("toward", ["above", None])
def test_two_ports_toward_the_far_end_give_the_whole_loss(sweep, toward):
    with_metal = sweep("lid", [-3.0103] * 5, [-50.0] * 5)
    without = sweep("bare", [-300.0] * 5, [-38.0] * 5)
    found = touchstone_loss(with_metal, without, LOW_HZ, HIGH_HZ, toward=toward)
    assert measured_effect(found, LID).total.value == pytest.approx(12.0)


def test_levels_toward_another_side_leave_the_estimate():
    found = levels_loss([-70, -81, -62, -75], [-60, -70, -50, -60], toward="beside")
    effect = measured_effect(found, LID)
    assert (effect.total, effect.detuning) == (LID.total, LID.detuning)
    assert "the estimate stands" in effect.cautions[0]


def test_a_stated_attenuation_contains_the_mismatch_that_one_port_shows(sweep):
    stated = metal_effect(StatedAttenuation(12.0, 3.0), 2.44e9, "above")
    found = touchstone_loss(sweep("lid", [-1.0] * 5), sweep("bare", [-15.0] * 5), LOW_HZ, HIGH_HZ)
    effect = measured_effect(found, stated)
    assert effect.total == stated.total  # not counted twice
    assert effect.way_out.value == pytest.approx(12.0 - found.loss.value)
