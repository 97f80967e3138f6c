"""Antenna files as analysers write them, and files that are none."""

import math

import pytest

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.touchstone import LARGEST_FILE_BYTES, worst_return_loss_db

ONE_PORT = """! antenna on the bench
# MHz S DB R 50
2350 -8.0 10
2400 -12.0 20
2440 -20.0 40
2480 -10.0 80
2550 -6.0 120
"""


@pytest.fixture
def write(tmp_path):
    def _write(content, name="antenna.s1p"):
        path = tmp_path / name
        if isinstance(content, bytes):
            path.write_bytes(content)
        else:
            path.write_text(content, encoding="utf-8")
        return path

    return _write


def test_the_worst_point_of_the_band_counts(write):
    assert worst_return_loss_db(write(ONE_PORT), 2400e6, 2480e6) == pytest.approx((10.0, 2480e6))


def test_a_path_may_be_text_and_its_suffix_in_capitals(write):
    path = str(write(ONE_PORT, "ANTENNA.S1P"))
    assert worst_return_loss_db(path, 2400e6, 2440e6) == pytest.approx((12.0, 2400e6))


def test_an_edge_between_two_points_is_interpolated(write):
    # half way from |S11| 0.3162 (-10 dB) to 0.5012 (-6 dB)
    worst_db, at_hz = worst_return_loss_db(write(ONE_PORT), 2440e6, 2515e6)
    assert worst_db == pytest.approx(-20.0 * math.log10((0.316228 + 0.501187) / 2), abs=1e-4)
    assert at_hz == 2515e6


def test_a_band_between_two_points_and_a_single_frequency(write):
    path = write(ONE_PORT)
    assert worst_return_loss_db(path, 2455e6, 2465e6)[1] == 2465e6
    assert worst_return_loss_db(path, 2440e6, 2440e6) == pytest.approx((20.0, 2440e6))


@pytest.mark.parametrize(
    ("option", "data"),
    [("GHz S RI R 50", "2.4 0.06 0.08"), ("Hz S MA R 50", "2400000000 0.1 53.13")],
)
def test_formats_and_units_of_frequency(write, option, data):
    first, *_ = data.split()
    last = f"{float(first) * 1.1:.10g} 0.01 0"
    path = write(f"# {option}\n{data}\n{last}\n")
    assert worst_return_loss_db(path, 2.4e9, 2.5e9) == pytest.approx((20.0, 2.4e9))


def test_two_ports_give_the_first(write):
    lines = "# GHz S MA R 50\n2.3 0.1 0 0.01 0 0.01 0 0.9 0\n2.6 0.5 0 0.01 0 0.01 0 0.9 0\n"
    worst = worst_return_loss_db(write(lines, "pair.s2p"), 2.3e9, 2.6e9)
    assert worst == pytest.approx((6.0206, 2.6e9), abs=1e-4)


def test_another_reference_resistance_is_turned_to_50_ohm(write):
    # a perfect match to 75 ohm reflects (75 - 50)/(75 + 50) = 0.2 of 50 ohm
    path = write("# MHz S MA R 75\n100 0 0\n200 0 0\n")
    assert worst_return_loss_db(path, 100e6, 200e6)[0] == pytest.approx(13.979, abs=0.001)


def test_a_perfect_match_stays_finite(write):
    path = write("# MHz S MA R 50\n100 0 0\n200 0 0\n")
    assert worst_return_loss_db(path, 100e6, 200e6)[0] == pytest.approx(120.0)


@pytest.mark.parametrize(("low_hz", "high_hz"), [(2300e6, 2480e6), (2400e6, 2600e6), (1.0, 2.0)])
def test_a_band_that_the_file_does_not_cover_is_refused(write, low_hz, high_hz):
    path = write(ONE_PORT)
    with pytest.raises(OutOfRange, match="Sweep the antenna") as caught:
        worst_return_loss_db(path, low_hz, high_hz)
    assert caught.value.file == str(path)
    assert (caught.value.low, caught.value.high) == pytest.approx((2350e6, 2550e6))


def test_more_reflected_than_sent_is_refused(write):
    path = write("# MHz S MA R 50\n100 1.02 0\n200 0.3 0\n")
    with pytest.raises(InputError, match="reflects less than it is sent"):
        worst_return_loss_db(path, 100e6, 200e6)
    assert worst_return_loss_db(path, 190e6, 200e6)[1] == 190e6


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("", "no option line"),
        ("\n\n", "no option line"),
        ("frequency;level\n1;2\n", "no option line"),
        ("# MHz S DB R 50\n", "no data lines"),
        ("# MHz S DB R 50\nhello world\n", "does not parse"),
        ("# MHz S DB R 50\n100 -3\n", "does not parse"),
        ("# MHz S DB R 50\n100 -3 0\n200 -3\n", "does not parse"),
        ("# MHz S DB R 50\n100 -3,5 0\n", "does not parse"),
        ("# furlong S DB R 50\n100 -3 0\n", "does not parse"),
        ("# MHz X DB R 50\n100 -3 0\n", "does not parse"),
        ("# MHz S XX R 50\n100 -3 0\n", "does not parse"),
        ("# MHz S DB R fifty\n100 -3 0\n", "does not parse"),
        ("# MHz S DB R 50\n100 nan 0\n200 -3 0\n", "not numbers"),
        ("# MHz S DB R 50\n100 1e400 0\n200 -3 0\n", "not numbers"),
        ("# MHz S DB R 50\n200 -3 0\n100 -3 0\n", "do not rise"),
        ("# MHz S DB R 50\n100 -3 0\n100 -4 0\n", "do not rise"),
        ("[Version] 2.0\n# MHz S DB R 50\n[Number of Ports] 99999999\n100 -3 0\n", "ports"),
        ("[Version] 2.0\n# MHz S DB R 50\n[Number of Ports]\n", "does not parse"),
        ("[Version] 2.0\n# MHz S DB R 50\n[Number of Ports] 1\n[Reference]\n", "does not parse"),
        ("# MHz S DB R 50\n100 -3 0 9**9**9\n", "does not parse"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "binary"),
        (b"\x00" * 64, "binary"),
        (b"\xff\xfe# MHz", "no option line"),
    ],
)
def test_a_broken_file_is_named_and_told(write, content, told):
    path = write(content)
    with pytest.raises(InputError, match=told) as caught:
        worst_return_loss_db(path, 100e6, 200e6)
    assert caught.value.file == str(path)
    assert str(path) in str(caught.value)


def test_one_long_line_is_refused_unread(write):
    path = write(b"# MHz S DB R 50 " + b"1 " * (LARGEST_FILE_BYTES // 2))
    with pytest.raises(InputError, match="more than 20 MB"):
        worst_return_loss_db(path, 100e6, 200e6)


@pytest.mark.parametrize("name", ["antenna.csv", "antenna.s4p", "antenna.ts", "antenna"])
def test_another_suffix_is_refused(write, name):
    with pytest.raises(InputError, match=r"ending in \.s1p or \.s2p"):
        worst_return_loss_db(write(ONE_PORT, name), 2400e6, 2480e6)


def test_a_missing_file_and_a_folder_are_told(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        worst_return_loss_db(tmp_path / "none.s1p", 1.0, 2.0)
    (tmp_path / "folder.s1p").mkdir()
    with pytest.raises(InputError, match="cannot be read"):
        worst_return_loss_db(tmp_path / "folder.s1p", 1.0, 2.0)
