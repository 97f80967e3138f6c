"""A scan in too narrow a bandwidth may read low, so it can show a line exceeded, never settled."""

import numpy as np

from linkbudget.emissions.conformity import required_lines, standings
from linkbudget.emissions.scan import Scan, ScanRecord, Trace


def _standing(level_db, bandwidth_hz):
    f = np.linspace(30e6, 1e9, 20_000)
    trace = Trace(f, np.full(f.shape, level_db), "dBuV/m", "bench.csv")
    record = ScanRecord(
        port="enclosure",
        transducer="antenna",
        detector="peak",
        bandwidth_hz=bandwidth_hz,
        distance_m=3.0,
        polarisation="both",
    )
    rows = required_lines("CISPR 32", "B", "none", 1e9, scanned_distances_m=[3.0])
    return standings([Scan("bench", trace, record)], rows)[0]


def test_the_bandwidth_of_the_standard_settles_the_line():
    assert _standing(10.0, 120e3).standing == "clear"
    assert _standing(10.0, 1e6).standing == "clear"  # wider reads higher, which is on the safe side


def test_a_narrow_bandwidth_leaves_the_line_unmeasured_and_says_why():
    found = _standing(10.0, 9e3)
    assert found.standing == "not measured"
    assert "bandwidth is too narrow for broadband levels" in found.reason


def test_a_narrow_bandwidth_can_still_show_the_line_exceeded():
    assert _standing(50.0, 9e3).standing == "over"
