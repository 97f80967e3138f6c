import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.emissions.peaks import Peak, bin_starts, prominent_points

BANDWIDTH = 120e3


def _noise(points=200_000, seed=3):
    f = np.linspace(30e6, 1e9, points)
    return f, np.random.default_rng(seed).normal(20.0, 2.0, points)


def test_raw_noise_has_few_peaks():
    f, level = _noise()
    inner = level[1:-1]
    raw = np.count_nonzero((inner > level[:-2]) & (inner > level[2:]))
    assert raw > 50_000
    assert prominent_points(f, level, BANDWIDTH).size < raw / 1000


def test_a_comb_in_noise_is_found_line_by_line():
    f, level = _noise()
    comb = np.arange(1, 20) * 48e6
    at = np.searchsorted(f, comb)
    level[at] = 45.0
    found = prominent_points(f, level, BANDWIDTH)
    np.testing.assert_array_equal(found[level[found] > 35.0], at)
    assert found.size < at.size + 100


def test_a_rising_comb_is_found_whole():
    f = np.linspace(30e6, 1e9, 1_000_000)
    level = np.full(f.size, 10.0)
    at = np.arange(500, 999_500, 1000)
    level[at] = 20.0 + np.arange(at.size) * 0.05
    np.testing.assert_array_equal(prominent_points(f, level, BANDWIDTH), at)


@pytest.mark.parametrize(("height", "count"), [(5.9, 0), (6.0, 1), (6.1, 1)])
def test_a_peak_stands_out_by_6_db(height, count):
    f = np.arange(30e6, 60e6, 100e3)
    level = np.zeros(f.size)
    level[100] = height
    assert prominent_points(f, level, BANDWIDTH).size == count


def test_two_lines_within_half_a_bandwidth_are_one():
    f = np.arange(30e6, 31e6, 10e3)
    level = np.zeros(f.size)
    level[[30, 32]] = 30.0, 31.0  # 30.30 and 30.32 MHz in the bin from 30.30 to 30.36 MHz
    np.testing.assert_array_equal(prominent_points(f, level, BANDWIDTH), [32])


def test_coarse_points_stand_for_themselves():
    f = np.array([30e6, 100e6, 300e6, 500e6, 900e6])
    level = np.array([10.0, 30.0, 10.0, 25.0, 10.0])
    np.testing.assert_array_equal(prominent_points(f, level, BANDWIDTH), [1, 3])


@pytest.mark.parametrize("points", [0, 1, 2])
def test_a_trace_too_short_for_a_peak(points):
    f = np.arange(1, points + 1) * 1e6
    assert prominent_points(f, np.zeros(points), BANDWIDTH).size == 0


@given(st.lists(st.floats(1e5, 6e9), min_size=1, max_size=300, unique=True), st.floats(1.0, 1e7))
def test_bins_hold_every_point_once_and_none_is_empty(frequencies, bandwidth):
    f = np.sort(np.array(frequencies))
    starts = bin_starts(f, bandwidth)
    assert starts[0] == 0
    assert np.all(np.diff(np.append(starts, f.size)) > 0)
    assert starts.size <= 2**15 + 1


def test_margin_is_positive_below_the_line():
    assert Peak(1e8, 37.0, 40.0).margin_db == 3.0
