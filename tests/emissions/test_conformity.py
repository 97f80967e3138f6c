import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, MissingData
from linkbudget.emissions.conformity import (
    OwnTransmitter,
    assess,
    required_lines,
    set_apart,
    standings,
)
from linkbudget.emissions.limits import line
from linkbudget.emissions.scan import Scan, ScanRecord, Trace
from linkbudget.emissions.uncertainty import measurement_uncertainty

RADIATED = ScanRecord("enclosure", "antenna", "peak", 120e3, distance_m=3.0, polarisation="both")
ABOVE_1_GHZ = dataclasses.replace(RADIATED, bandwidth_hz=1e6)
MAINS = ScanRecord("AC mains", "line-impedance network", "peak", 9e3, conductor="both")
QP_3M = line("cispr32-b-radiated-3m-quasi-peak")
RADIO = OwnTransmitter("radio", 2.4e9, 2.4835e9, 2e6)


def _scan(record, *spikes, name="scan", floor=10.0, low=None, high=None, points=20_001, f=None):
    """A flat trace over the range of its port with single points raised."""
    start, stop = (30e6, 1e9) if record.port == "enclosure" else (150e3, 30e6)
    if f is None:
        f = np.linspace(low or start, high or stop, points)
    level = np.full(len(f), floor)
    for frequency, height in spikes:
        level[np.argmin(np.abs(np.asarray(f) - frequency))] = height
    unit = "dBuV/m" if record.port == "enclosure" else "dBuV"
    return Scan(name, Trace(np.asarray(f, dtype=float), level, unit, f"{name}.csv"), record)


def _with(record, **changes):
    return dataclasses.replace(record, **changes)


def _required(mains="adapter", highest=1e9, distances=(3.0,), **more):
    return required_lines("CISPR 32", "B", mains, highest, scanned_distances_m=distances, **more)


def _standing(line_id, scans, *transmitters, highest=1e9, distances=(3.0,), variant=""):
    rows = [r for r in _required(highest=highest, distances=distances) if r.line.line_id == line_id]
    (found,) = standings(scans, rows, transmitters, variant=variant)
    return found


def _radiated(*scans, **more):
    return _standing("cispr32-b-radiated-3m-quasi-peak", scans, **more)


def _mains_lines(*scans):
    return [_standing(f"cispr32-b-mains-{d}", scans) for d in ("quasi-peak", "average")]


# One scan against one line


def test_worst_margin_is_taken_over_all_points_not_over_peaks():
    f = np.linspace(30e6, 1e9, 20_001)
    level = np.linspace(38.0, 20.0, f.size)  # a plain slope has no peak
    scan = Scan("slope", Trace(f, level, "dBuV/m", "slope.csv"), RADIATED)
    found = assess(scan, QP_3M)
    assert found.peaks == ()
    assert found.worst_at_hz == 30e6
    assert found.worst_margin.value == 2.0
    assert (found.worst_level_db, found.worst_limit_db) == (38.0, 40.0)


def test_a_point_on_the_step_meets_the_lower_limit():
    found = assess(_scan(RADIATED, (230e6, 45.0), f=[100e6, 230e6, 300e6]), QP_3M)
    assert found.worst_limit_db == 40.0
    assert found.worst_margin.value == -5.0


def test_margin_carries_its_uncertainty_as_band():
    found = assess(_scan(_with(RADIATED, uncertainty_db=6.0), (100e6, 35.0)), QP_3M)
    assert found.worst_margin.band == (-1.0, 11.0)
    assert (found.uncertainty.kind, found.worst_margin.kind) == ("stated", "measured")


def test_points_outside_the_line_are_left_alone():
    scan = _scan(RADIATED, (20e6, 90.0), (100e6, 30.0), low=10e6, high=1.2e9)
    assert assess(scan, QP_3M).worst_margin.value == 10.0


def test_peaks_come_worst_first():
    found = assess(_scan(RADIATED, (100e6, 30.0), (500e6, 38.0), (800e6, 20.0)), QP_3M)
    assert [round(p.margin_db) for p in found.peaks] == [9, 10, 27]
    assert found.peaks[0].frequency_hz == pytest.approx(500e6, abs=5e4)


def test_a_level_that_is_not_a_number_never_hides():
    with pytest.raises(InputError, match="a finite level"):
        assess(_scan(RADIATED, (100e6, np.nan)), QP_3M)
    mains = _scan(MAINS, (200e3, np.nan), (300e3, 80.0))
    with pytest.raises(InputError, match="a finite level"):
        assess(mains, line("cispr32-b-mains-quasi-peak"))


@pytest.mark.parametrize("missing", ["detector", "distance_m"])
def test_a_scan_without_detector_or_distance_is_refused(missing):
    scan = _scan(_with(RADIATED, **{missing: None}), name="front")
    with pytest.raises(MissingData, match=f"front: {missing.removesuffix('_m')}"):
        assess(scan, QP_3M)


def test_another_unit_is_refused():
    scan = _scan(RADIATED)
    wrong = dataclasses.replace(scan, trace=dataclasses.replace(scan.trace, unit="dBuV"))
    with pytest.raises(InputError, match="found levels in dBuV; expected dBuV/m"):
        assess(wrong, QP_3M)


@pytest.mark.parametrize(
    ("record", "why"),
    [
        (_with(RADIATED, transducer="near-field probe"), "near-field probe has no limit line"),
        (_with(RADIATED, transducer="current probe"), "before and after"),
        (_with(RADIATED, distance_m=10.0), "no factor between distances is trusted"),
        (_with(RADIATED, distance_m=1.0), "taken at 1 m, the line is for 3 m"),
        (
            _with(RADIATED, transducer="line-impedance network"),
            "this port is measured with: antenna",
        ),
        (MAINS, "taken at the AC mains port"),
    ],
)
def test_what_may_not_be_compared_is_refused_with_the_reason(record, why):
    with pytest.raises(InputError, match=why):
        assess(_scan(record), QP_3M)


def test_a_scan_elsewhere_in_frequency_is_refused():
    with pytest.raises(InputError, match="points from 30 MHz to 1 GHz"):
        assess(_scan(RADIATED, low=1e9 + 1, high=2e9), QP_3M)


@pytest.mark.parametrize(("low", "high"), [(30e6, 1e9), (6e9, 7e9)])
def test_a_sweep_that_only_touches_a_line_is_not_compared(low, high):
    scan = _scan(RADIATED, low=low, high=high)
    found = _standing("cispr32-b-radiated-3m-peak", [scan], highest=6e9)
    assert (found.standing, found.compared) == ("not measured", ())


@pytest.mark.parametrize(
    ("record", "points", "note"),
    [
        (_with(RADIATED, bandwidth_hz=None), 20_001, "no resolution bandwidth is stated"),
        (_with(RADIATED, bandwidth_hz=9e3), 200_001, "up to 22 dB too low"),
        (_with(RADIATED, bandwidth_hz=1e6), 20_001, "up to 18 dB too high"),
        (RADIATED, 1001, "step of 970 kHz is larger than the bandwidth of 120 kHz"),
        (RADIATED, 1001, "nothing between the points is covered"),
        (_with(RADIATED, swept=True), 1001, "the highest level of its step, as stated"),
        (_with(RADIATED, step_hz=10e3), 20_001, "a step of 10 kHz is stated"),
        (_with(RADIATED, polarisation=""), 20_001, "no polarisation is stated"),
        (_with(MAINS, conductor=""), 20_001, "no conductor is stated"),
    ],
)
def test_what_weakens_the_comparison_is_told(record, points, note):
    limit = QP_3M if record.port == "enclosure" else line("cispr32-b-mains-quasi-peak")
    assert note in " ".join(assess(_scan(record, points=points), limit).notes)


def test_a_proper_scan_needs_no_note():
    assert assess(_scan(_with(RADIATED, polarisation="vertical")), QP_3M).notes == ()


def test_an_unknown_polarisation_is_refused():
    with pytest.raises(InputError, match="horizontal or vertical or both"):
        _radiated(_scan(_with(RADIATED, polarisation="slant")))


@given(st.floats(-40.0, 40.0))
def test_raising_all_levels_lowers_the_margin_by_as_much(shift):
    scan = _scan(RADIATED, (100e6, 30.0), (500e6, 38.0), points=2001)
    raised = dataclasses.replace(
        scan, trace=dataclasses.replace(scan.trace, level_db=scan.trace.level_db + shift)
    )
    before, after = assess(scan, QP_3M), assess(raised, QP_3M)
    assert after.worst_margin.value == pytest.approx(before.worst_margin.value - shift)
    assert after.worst_at_hz == before.worst_at_hz
    assert len(after.peaks) == len(before.peaks)


# Uncertainty: root sums of squares of 6.3, 5.2, 3.4 dB (CISPR 16-4-2, from memory) with 8 and 3 dB
# (practice), worked out by hand


@pytest.mark.parametrize(
    ("line_id", "expected_db"),
    [
        ("cispr32-b-radiated-3m-quasi-peak", 10.18),
        ("cispr32-b-radiated-3m-peak", 9.54),
        ("cispr32-b-mains-average", 4.53),
    ],
)
def test_assumed_uncertainty(line_id, expected_db):
    found = measurement_uncertainty(line(line_id))
    assert found.value == pytest.approx(expected_db, abs=0.005)
    assert found.kind == "assumed"
    assert "CISPR 16-4-2" in found.source
    assert "pre-scan" in found.source


@pytest.mark.parametrize("bad", [-1.0, float("nan"), float("inf")])
def test_an_impossible_uncertainty_is_refused(bad):
    with pytest.raises(InputError, match="more than 0 dB"):
        measurement_uncertainty(QP_3M, bad)


# Which lines a product faces


def _applies(rows):
    return {row.line.line_id for row in rows if row.applies}


def test_a_battery_product_has_no_mains_lines_and_the_reason_says_so():
    rows = _required(mains="none")
    mains = [row for row in rows if row.line.port == "AC mains"]
    assert len(mains) == 2
    assert all(not row.applies and not row.required for row in mains)
    assert mains[0].reason == "does not apply, because the product has no AC mains port"
    assert standings([], mains)[0].standing == "does not apply"


def test_an_adapter_is_named():
    rows = _required(adapter="24 V 2 A supply")
    assert any("24 V 2 A supply" in row.reason for row in rows if row.line.port == "AC mains")


def test_nothing_scanned_means_3_m():
    assert "cispr32-b-radiated-3m-quasi-peak" in _applies(_required(distances=()))
    assert "cispr32-b-radiated-10m-quasi-peak" not in _applies(_required(distances=()))


def test_a_scan_at_10_m_takes_the_10_m_line():
    found = _applies(_required(distances=(10.0,)))
    assert "cispr32-b-radiated-10m-quasi-peak" in found
    assert "cispr32-b-radiated-3m-quasi-peak" not in found


def test_with_both_distances_the_second_is_compared_but_not_required():
    rows = {row.line.line_id: row for row in _required(distances=(3.0, 10.0))}
    assert rows["cispr32-b-radiated-3m-quasi-peak"].required
    ten = rows["cispr32-b-radiated-10m-quasi-peak"]
    assert (ten.applies, ten.required) == (True, False)


def test_lines_above_1_ghz_end_at_the_highest_measured_frequency():
    rows = {row.line.line_id: row for row in _required(highest=2e9)}
    assert rows["cispr32-b-radiated-3m-peak"].high_hz == 2e9
    assert rows["cispr32-b-radiated-3m-average"].required
    assert rows["cispr32-b-mains-average"].high_hz == 30e6


def test_lines_above_1_ghz_fall_away_for_slow_products():
    rows = {row.line.line_id: row for row in _required(highest=1e9)}
    assert rows["cispr32-b-radiated-3m-peak"].reason == (
        "does not apply, because nothing above 1 GHz has to be measured"
    )


# Standings


@pytest.mark.parametrize(
    ("height", "standing"),
    [(33.9, "clear"), (34.0, "inside"), (40.0, "inside"), (40.1, "over")],
)
def test_clear_inside_over(height, standing):
    scan = _scan(_with(RADIATED, uncertainty_db=6.0), (100e6, height))
    assert _radiated(scan).standing == standing


def test_no_scan_is_not_measured():
    found = _radiated()
    assert (found.standing, found.worst) == ("not measured", None)
    assert found.reason == "not measured: 30 MHz to 1 GHz"
    assert found.gaps == ((30e6, 1e9),)
    assert found.uncertainty.kind == "assumed"


def test_a_missing_range_is_named():
    found = _radiated(_scan(RADIATED, high=700e6))
    assert found.standing == "not measured"
    assert found.reason.endswith("not measured: 700.06 MHz to 1 GHz")


def test_over_beats_a_missing_range_and_still_names_it():
    found = _radiated(_scan(RADIATED, (100e6, 50.0), high=700e6))
    assert found.standing == "over"
    assert "10.0 dB above the line at 100.015 MHz" in found.reason
    assert "700.06 MHz to 1 GHz" in found.reason


def test_a_missing_polarisation_is_not_measured():
    found = _radiated(_scan(_with(RADIATED, polarisation="horizontal")))
    assert found.standing == "not measured"
    assert "vertical 30 MHz to 1 GHz" in found.reason


def test_two_polarisations_and_two_antennas_cover_the_line():
    scans = [
        _scan(_with(RADIATED, polarisation=side), low=low, high=high, name=f"{side} {low:g}")
        for side in ("horizontal", "vertical")
        for low, high in ((30e6, 250e6), (240e6, 1e9))
    ]
    found = _radiated(*scans)
    assert (found.standing, found.gaps, len(found.compared)) == ("clear", (), 4)


def test_a_missing_neutral_is_not_measured():
    quasi_peak, average = _mains_lines(_scan(_with(MAINS, conductor="line")))
    assert quasi_peak.standing == average.standing == "not measured"
    assert "neutral 150 kHz to 30 MHz" in quasi_peak.reason


def test_another_distance_is_named_and_not_compared():
    found = _radiated(_scan(_with(RADIATED, distance_m=10.0), (100e6, 60.0), name="field"))
    assert found.standing == "not measured"
    assert found.compared == ()
    assert found.not_compared[0].startswith("field: it was taken at 10 m")
    assert "taken at 10 m" in found.reason


def test_a_near_field_probe_never_meets_a_line():
    record = ScanRecord("enclosure", "near-field probe")  # not even a detector is needed
    found = _radiated(_scan(record, (100e6, 90.0), name="probe"))
    assert found.standing == "not measured"
    assert "probe: a near-field probe has no limit line" in found.reason


def test_scans_of_other_variants_are_left_out():
    loud = _scan(_with(RADIATED, variant="metal lid"), (100e6, 60.0), name="loud")
    quiet = _scan(RADIATED, name="quiet")
    assert _radiated(loud, quiet, variant="plastic lid").standing == "clear"
    assert _radiated(loud, quiet, variant="metal lid").standing == "over"
    assert _radiated(loud, quiet).standing == "over"


def test_the_nearest_in_terms_of_its_own_uncertainty_decides():
    exact = _scan(_with(RADIATED, uncertainty_db=1.0), (100e6, 36.0), name="exact")
    rough = _scan(_with(RADIATED, uncertainty_db=12.0), (100e6, 30.0), name="rough")
    found = _radiated(exact, rough)
    assert found.standing == "inside"
    assert found.worst.scan == "rough"
    assert found.uncertainty.value == 12.0


# Detectors at the mains port: class B at 1 MHz is 56 quasi-peak and 46 average


def test_a_peak_scan_below_the_average_line_settles_both():
    quasi_peak, average = _mains_lines(_scan(MAINS, (1e6, 40.0)))
    assert (quasi_peak.standing, average.standing) == ("clear", "clear")
    assert "never reads more than the peak" in average.reason


def test_a_peak_scan_between_the_lines_settles_the_quasi_peak_line_only():
    quasi_peak, average = _mains_lines(_scan(MAINS, (1e6, 50.0)))
    assert (quasi_peak.standing, average.standing) == ("clear", "not measured")
    assert "read it again with the average detector" in average.reason
    assert "not settled: 99" in average.reason
    ((low, high),) = average.gaps
    assert low < 1e6 < high
    assert high - low < 30e3


def test_a_quasi_peak_scan_below_the_average_line_settles_both():
    quasi_peak, average = _mains_lines(_scan(_with(MAINS, detector="quasi-peak"), (1e6, 40.0)))
    assert (quasi_peak.standing, average.standing) == ("clear", "clear")


def test_an_average_scan_settles_the_average_line_only():
    quasi_peak, average = _mains_lines(_scan(_with(MAINS, detector="average"), (1e6, 40.0)))
    assert (quasi_peak.standing, average.standing) == ("not measured", "clear")
    assert quasi_peak.compared[0].scan == "scan"


def test_an_average_scan_over_the_quasi_peak_line_is_over():
    quasi_peak, average = _mains_lines(_scan(_with(MAINS, detector="average"), (1e6, 58.0)))
    assert (quasi_peak.standing, average.standing) == ("over", "over")


def test_a_peak_over_the_quasi_peak_line_counts_as_over():
    quasi_peak, average = _mains_lines(_scan(MAINS, (1e6, 60.0)))
    assert (quasi_peak.standing, average.standing) == ("over", "not measured")
    assert "steady clock line" in quasi_peak.reason


def test_a_final_reading_stands_before_the_peak_scan():
    peak = _scan(MAINS, (1e6, 60.0), name="peak")
    final = _scan(_with(MAINS, detector="quasi-peak"), f=[1.0005e6], floor=50.0, name="final")
    average = _scan(_with(MAINS, detector="average"), f=[1.0005e6], floor=30.0, name="average")
    quasi_peak, by_average = _mains_lines(peak, final, average)
    assert quasi_peak.standing == "clear"
    assert quasi_peak.worst.scan == "final"
    assert quasi_peak.worst.worst_margin.value == 6.0
    assert (by_average.standing, by_average.gaps) == ("clear", ())


@pytest.mark.parametrize("change", [{"mode": "idle"}, {"conductor": "neutral"}])
def test_a_final_reading_of_another_set_up_replaces_nothing(change):
    peak = _scan(MAINS, (1e6, 60.0), name="peak")
    record = _with(MAINS, detector="quasi-peak", **change)
    final = _scan(record, f=[1e6], floor=50.0, name="final")
    assert _mains_lines(peak, final)[0].standing == "over"


def test_one_final_reading_does_not_stand_for_a_broad_hump():
    f = np.linspace(150e3, 30e6, 20_001)
    level = np.where((f > 1e6) & (f < 3e6), 60.0, 10.0)
    hump = Scan("hump", Trace(f, level, "dBuV", "hump.csv"), MAINS)
    final = _scan(_with(MAINS, detector="quasi-peak"), f=[2e6], floor=30.0, name="final")
    assert _mains_lines(hump, final)[0].standing == "over"


def test_above_1_ghz_peak_and_average_are_judged_each():
    scan = _scan(ABOVE_1_GHZ, (2e9, 60.0), low=1e9, high=6e9)
    peak = _standing("cispr32-b-radiated-3m-peak", [scan], highest=6e9)
    average = _standing("cispr32-b-radiated-3m-average", [scan], highest=6e9)
    assert (peak.standing, average.standing) == ("clear", "not measured")


def test_only_up_to_the_highest_measured_frequency():
    scan = _scan(ABOVE_1_GHZ, (4e9, 90.0), low=1e9, high=6e9)
    found = _standing("cispr32-b-radiated-3m-peak", [scan], highest=2e9)
    assert (found.standing, found.gaps) == ("clear", ())


# The own transmitter


def test_the_own_transmitter_is_set_apart():
    spikes = [(2.44e9, 110.0), (2.4875e9, 90.0), (4.88e9, 85.0), (3.5e9, 45.0)]
    scan = _scan(ABOVE_1_GHZ, *spikes, low=1e9, high=6e9)
    without_it = _standing("cispr32-b-radiated-3m-peak", [scan], highest=6e9)
    assert without_it.standing == "over"
    found = _standing("cispr32-b-radiated-3m-peak", [scan], RADIO, highest=6e9)
    assert (found.standing, found.gaps) == ("clear", ())
    assert found.worst.worst_at_hz == pytest.approx(3.5e9, abs=1e6)
    assert [round(peak.frequency_hz / 1e6) for peak in found.worst.peaks] == [3500]


def test_what_is_set_apart_is_shown():
    scan = _scan(ABOVE_1_GHZ, (2.44e9, 110.0), (4.88e9, 85.0), low=1e9, high=6e9)
    band, second = set_apart(scan, [RADIO])
    assert (band.why, band.highest_level_db) == ("radio: band and out-of-band domain", 110.0)
    assert (band.low_hz, band.high_hz) == (2.396e9, 2.4875e9)
    assert (second.why, second.highest_level_db) == ("radio: harmonic 2", 85.0)
    assert second.at_hz == pytest.approx(4.88e9, abs=1e6)


def test_a_line_just_outside_the_radio_is_judged():
    scan = _scan(ABOVE_1_GHZ, (2.49e9, 80.0), low=1e9, high=6e9)
    assert _standing("cispr32-b-radiated-3m-peak", [scan], RADIO, highest=6e9).standing == "over"


def test_nothing_is_set_apart_at_the_mains_port():
    tag_reader = OwnTransmitter("tag reader", 13.553e6, 13.567e6, 14e3)
    scan = _scan(MAINS, (13.56e6, 70.0))
    assert _standing("cispr32-b-mains-quasi-peak", [scan], tag_reader).standing == "over"
    assert set_apart(scan, [tag_reader]) == ()


@pytest.mark.parametrize("band", [(2.5e9, 2.4e9, 1e6), (0.0, 1e9, 1e6), (1e9, 2e9, 0.0)])
def test_an_impossible_band_is_refused(band):
    with pytest.raises(InputError, match="rising band edges"):
        OwnTransmitter("radio", *band)
