"""Emissions against slow, independent computations: one point at a time, from the tables."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import interp1d

from linkbudget.core.tables import LogFrequencyTable
from linkbudget.emissions.corrections import Correction, correct
from linkbudget.emissions.coverage import covered_ranges, without
from linkbudget.emissions.limits import line
from linkbudget.emissions.margins import assess
from linkbudget.emissions.peaks import prominent_points
from linkbudget.emissions.scan import Scan, ScanRecord, Trace

RADIATED = ScanRecord("enclosure", "antenna", "peak", 120e3, distance_m=3.0)
MAINS = ScanRecord("AC mains", "line-impedance network", "peak", 9e3)


def _slow_class_b_quasi_peak(frequency_hz, port):
    """CISPR 32 class B quasi-peak, 3 m or AC mains, one frequency; nan outside."""
    mhz = frequency_hz / 1e6
    if port == "enclosure":
        if not 30.0 <= mhz <= 1000.0:
            return math.nan
        return 40.0 if mhz <= 230.0 else 47.0
    if not 0.15 <= mhz <= 30.0:
        return math.nan
    if mhz < 0.5:
        return 66.0 - 10.0 * math.log(mhz / 0.15) / math.log(0.5 / 0.15)
    return 56.0 if mhz <= 5.0 else 60.0


def _slow_worst(frequency_hz, level_db, port, apart):
    worst = (math.inf, math.nan)
    for f, level in zip(frequency_hz.tolist(), level_db.tolist(), strict=True):
        limit = _slow_class_b_quasi_peak(f, port)
        if math.isnan(limit) or any(low <= f <= high for low, high in apart):
            continue
        worst = min(worst, (limit - level, f))
    return worst


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    ("record", "line_id", "span"),
    [
        (RADIATED, "cispr32-b-radiated-3m-quasi-peak", (20e6, 1.1e9)),
        (MAINS, "cispr32-b-mains-quasi-peak", (100e3, 31e6)),
    ],
)
def test_worst_margin_against_one_point_at_a_time(seed, record, line_id, span):
    rng = np.random.default_rng(seed)
    f = np.unique(rng.uniform(*span, 5000).round(-3))
    level = rng.normal(20.0, 8.0, f.size)
    apart = [tuple(np.sort(rng.uniform(*span, 2)).tolist()) for _ in range(3)]
    apart = [(low, low + 0.2 * (high - low)) for low, high in apart]
    unit = "dBuV/m" if record.port == "enclosure" else "dBuV"
    found = assess(
        Scan("scan", Trace(f, level, unit, "scan.csv"), record), line(line_id), apart=apart
    )
    margin, at = _slow_worst(f, level, record.port, apart)
    assert found.worst_margin.value == pytest.approx(margin, abs=1e-9)
    assert found.worst_at_hz == at


@pytest.mark.parametrize("seed", range(4))
def test_readings_above_the_line_against_one_point_at_a_time(seed):
    rng = np.random.default_rng(seed)
    f = np.linspace(150e3, 30e6, 3001)
    level = 55.0 + rng.normal(0.0, 4.0, f.size)
    found = assess(
        Scan("scan", Trace(f, level, "dBuV", "scan.csv"), MAINS), line("cispr32-b-mains-quasi-peak")
    )
    for x, height in zip(f.tolist(), level.tolist(), strict=True):
        over = height > _slow_class_b_quasi_peak(x, "AC mains")
        marked = any(low <= x <= high for low, high in found.above)
        assert marked or not over
    assert found.above


def test_correction_against_scipy_table_by_table():
    rng = np.random.default_rng(5)
    f = np.sort(rng.uniform(30e6, 1e9, 4000))
    level = rng.normal(20.0, 5.0, f.size)
    tables = [
        (np.geomspace(29e6, 1.1e9, nodes), rng.uniform(0.5, 20.0, nodes)) for nodes in (7, 23, 2)
    ]
    expected = level + 90.0 + 10.0 * math.log10(50.0) - 22.5
    for nodes, values in tables:
        expected = expected + interp1d(np.log(nodes), values)(np.log(f))
    roles = ("antenna factor", "cable loss", "attenuator")
    chain = [
        Correction(role, LogFrequencyTable(nodes, values, role))
        for role, (nodes, values) in zip(roles, tables, strict=True)
    ]
    chain.append(Correction("preamplifier gain", 22.5))
    found = correct("scan", Trace(f, level, "dBm", "scan.csv"), RADIATED, chain)
    np.testing.assert_allclose(found.trace.level_db, expected, atol=1e-9)


def _slow_prominence(envelope, k):
    """Height over the higher of the two lowest points on the way to higher ground."""
    bases = []
    for way in (range(k - 1, -1, -1), range(k + 1, len(envelope))):
        lowest = envelope[k]
        for i in way:
            if envelope[i] > envelope[k]:
                break
            lowest = min(lowest, envelope[i])
        bases.append(lowest)
    return envelope[k] - max(bases)


@pytest.mark.parametrize("seed", range(5))
def test_peaks_against_a_walk_over_the_envelope(seed):
    rng = np.random.default_rng(seed)
    f = np.linspace(30e6, 40e6, 2000)
    level = rng.normal(20.0, 4.0, f.size)
    bins = {}
    for i, x in enumerate(f.tolist()):
        bins.setdefault(math.floor((x - 30e6) / 60e3), []).append(i)
    tops = [max(points, key=lambda i: level[i]) for points in bins.values()]
    envelope = [float(level[i]) for i in tops]
    expected = [
        tops[k]
        for k in range(1, len(envelope) - 1)
        if envelope[k - 1] < envelope[k] > envelope[k + 1] and _slow_prominence(envelope, k) >= 6.0
    ]
    assert expected
    assert prominent_points(f, level, 120e3).tolist() == expected


@pytest.mark.parametrize("seed", range(5))
def test_gaps_of_a_linear_sweep_against_the_blanked_points(seed):
    rng = np.random.default_rng(seed)
    f = np.linspace(30e6, 1e9, 8001)
    holes = [(low, low + rng.uniform(5e6, 20e6)) for low in np.arange(80e6, 900e6, 90e6)]
    kept = np.ones(f.size, dtype=bool)
    for low, high in holes:
        kept &= (f < low) | (f > high)
    found = without([(30e6, 1e9)], covered_ranges(f[kept], 120e3))
    assert len(found) == len(holes)
    step = f[1] - f[0]
    for (low, high), (hole_low, hole_high) in zip(found, holes, strict=True):
        assert abs(low - hole_low) <= step
        assert abs(high - hole_high) <= step


@settings(max_examples=30)
@given(st.integers(0, 2**32 - 1))
def test_the_margin_does_not_depend_on_the_unit_of_the_reading(seed):
    rng = np.random.default_rng(seed)
    f = np.sort(rng.uniform(150e3, 30e6, 500))
    in_dbuv = Trace(f, rng.normal(40.0, 10.0, f.size), "dBuV", "scan.csv")
    # power in 50 ohm, written out: P = V^2 / R
    volts = 10.0 ** (in_dbuv.level_db / 20.0) * 1e-6
    in_dbm = dataclasses.replace(
        in_dbuv, level_db=10.0 * np.log10(volts**2 / 50.0 / 1e-3), unit="dBm"
    )
    limit = line("cispr32-b-mains-quasi-peak")
    one, other = (assess(correct("scan", t, MAINS), limit) for t in (in_dbuv, in_dbm))
    assert other.worst_margin.value == pytest.approx(one.worst_margin.value, abs=1e-9)
    assert other.worst_at_hz == one.worst_at_hz
