"""What the reader refuses, and in which words."""

import os

import pytest

from linkbudget.core.errors import InputError, MissingData, OutOfRange
from linkbudget.emissions.reader import read_scan

HEAD = "Frequency [MHz],Level [dBuV]\n"


def _refused(tmp_path, content, kind=InputError, **options):
    path = tmp_path / "scan.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(kind) as caught:
        read_scan(path, shown_as="scan.csv", **options)
    return str(caught.value)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        # the level column
        (HEAD + "30,1\n31,over\n", "scan.csv:3: found 'over' for the level; expected a number"),
        (HEAD + "30,over\n31,1\n32,1\n", "scan.csv:2: found 'over' for the level"),
        (HEAD + "30,a\n31,b\n", "scan.csv:2: found '30,a', and no row of two numbers"),
        (HEAD + "30,1\n31,<script>\n", "scan.csv:3: found '<script>' for the level"),
        (HEAD + "30,1\n31,1e400\n", "scan.csv:3: found '1e400' for the level; expected a finite"),
        (HEAD + "30,1\n31,inf\n", "scan.csv:3: found 'inf' for the level"),
        (HEAD + "30,1\n31,1.00.0\n", "scan.csv:3: found '1.00.0' for the level"),
        (HEAD + "30,1\n31,\x1b[2J\n", r"scan.csv:3: found '\x1b[2J' for the level"),
        (HEAD + "30,---\n31,NaN\n", "scan.csv:2: found '30,---', and no row of two numbers"),
        (HEAD + "30,1\n31,NaN\n", "scan.csv: found 1 points with a level; expected at least 2"),
        # the frequency column
        (HEAD + "30,1\n,2\n", "scan.csv:3: found '' for the frequency"),
        (HEAD + "30,1\nnan,2\n", "scan.csv:3: found 'nan' for the frequency"),
        (HEAD + "0,1\n31,2\n", "scan.csv:2: found a frequency of 0; expected a frequency greater"),
        (HEAD + "30,1\n-31,2\n", "scan.csv:3: found a frequency of -31"),
        (HEAD + "30,1\n1e400,2\n", "scan.csv:3: found '1e400' for the frequency"),
        (HEAD + "30,1\n30,2\n", "scan.csv: found one frequency only; expected at least 2"),
        # rows
        (HEAD + "30,1\n", "scan.csv: found 1 points with a level; expected at least 2 points"),
        (HEAD + "30,1\n31\n32,1\n", "scan.csv:3: found 1 columns in '31'; expected 2 columns"),
        (HEAD + "30,1\n31,2,3\n", "scan.csv:3: found 3 columns in '31,2,3'; expected 2 columns"),
        (HEAD + "30,1\n31,2\n32,3,4\n33\n", "scan.csv:4: found 3 columns in '32,3,4'"),
        (HEAD + "30,1\n31,2\nEnd of data\n", "scan.csv:4: found 1 columns in 'End of data'"),
        (HEAD + "30,1\n31,2\n" + HEAD + "40,1\n", "scan.csv:4: found 'Frequency [MHz]' for the"),
        ("1 2\n\n", "scan.csv: found no unit of the level"),
        (
            "30,1\n31,2\n32,2\n\nFrequency [MHz],Level [dBuV]\n" + "".join(
                f"{f},1\n" for f in range(30, 40)
            ),
            "scan.csv:1: found a row of numbers '30,1' above the header; expected one table",
        ),
        # decimal comma between commas
        (HEAD + "30,5,40,1\n31,5,40,2\n", "scan.csv:1: found 2 headings over rows of 4 columns"),
        ("30,5,40,1\n31,5,40,2\n", "where the comma is the decimal mark, export with ;"),
        (HEAD.replace(",", ";") + "30.5;1,5\n31.5;1,5\n", "and no row of two numbers"),
        # no table
        (HEAD, "scan.csv:1: found 'Frequency [MHz],Level [dBuV]', and no row of two numbers"),
        ("30\n31\n32\n", "scan.csv:1: found '30', and no row of two numbers in the first 3 lines"),
        ("", "scan.csv: found an empty file; expected rows of numbers"),
        (" \n\n\t\r\n", "scan.csv: found blank lines; expected rows of numbers"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "scan.csv: found bytes that are not text"),
        (bytes(range(1, 256)) * 8, "scan.csv: found bytes that are not text"),
        ("30,1\n31,2\n".encode("utf-16-le"), "UTF-16 needs its byte order mark"),
        # columns
        (
            "Frequency [MHz],Peak [dBuV],QP [dBuV]\n30,1,2\n31,1,2\n",
            "found 2 columns that may hold the level: column 2 'Peak [dBuV]', column 3 'QP [dBuV]'"
            '; expected one level column, or a choice. Choose with level_column = "Peak [dBuV]"',
        ),
        (
            "Start frequency [MHz],Stop frequency [MHz],Level [dBuV]\n30,31,1\n31,32,1\n",
            "found 2 frequency columns",
        ),
        ("a,b,c\n30,31,1\n31,32,1\n", "and none that names a frequency"),
        (
            "Frequency [MHz],Phase [deg]\n30,1\n31,2\n",
            "found column 2 'Phase [deg]', which is a phase or an angle; expected a level in dB",
        ),
        (
            "Frequency [MHz],Amplitude [mV]\n30,1\n31,2\n",
            "found column 2 'Amplitude [mV]', which is a linear magnitude",
        ),
        ("Frequency [MHz],Limit [dBuV]\n30,1\n31,2\n", "found no level column among column 1"),
        (
            "Frequency [MHz],Height [cm],Point\n30,1,1\n31,2,2\n",
            "found no level column among column 1 'Frequency [MHz]', column 2 'Height [cm]'",
        ),
        # units
        (
            "Frequency [MHz],Level\n30,1\n31,2\n",
            "found no unit of the level, neither in the heading of column 2 'Level' nor above it; "
            "expected one of dBm, dBuV, dBuV/m, dBuA. Say which it is: level_unit = \"dBuV\"",
        ),
        ("Frequency [MHz],Level [dB]\n30,1\n31,2\n", "found no unit of the level"),
        ("Frequency [MHz],Level [dBmV]\n30,1\n31,2\n", "found levels in 'dBmV' (column 2"),
        ("Frequency [MHz],Level [dBuV/MHz]\n30,1\n31,2\n", "found levels in 'dBuV/MHz'"),
        ("Frequency [MHz],Level [dBm/Hz]\n30,1\n31,2\n", "found levels in 'dBm/Hz'"),
        ("Frequency [MHz],Level [dBuA/m]\n30,1\n31,2\n", "found levels in 'dBuA/m'"),
        (
            "Unit A: dBuV\nUnit B: dBm\nFrequency [MHz],Level\n30,1\n31,2\n",
            "found more than one level unit above the numbers: dBm, dBuV",
        ),
        (
            "Frequency,Level [dBuV]\n30,1\n1000,2\n",
            "found no unit of the frequency; the numbers reach 1000; expected one of Hz, kHz, MHz, "
            'GHz. Say which it is: frequency_unit = "MHz"',
        ),
        ("f,Level [dBuV],Unit\n30,1,dBuV\n31,2,dBuV\n", "found the unit 'dBuV' inside the rows"),
        ("30 MHz;1 dBuV\n31 MHz;2 dBuV\n", "and no row of two numbers"),
        # a first column that is no frequency
        (
            "dBuV\nx,y\n30e6,1\n10e6,2\n40e6,3\n",
            "found column 1 'x' without a heading, and its numbers neither rise nor fall",
        ),
    ],
)  # fmt: skip
def test_refusal_says_where_and_what(tmp_path, content, message):
    text = _refused(tmp_path, content)
    assert text.startswith("scan.csv")
    assert message.lower() in text.lower()


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"level_unit": "dBm"}, "found level_unit = 'dBm', but 'dBuV' in the file"),
        ({"level_unit": "V"}, "found level_unit = 'V'; expected one of dBm, dBuV, dBuV/m, dBuA"),
        ({"level_unit": "dBmV"}, "found level_unit = 'dBmV'; expected one of"),
        ({"frequency_unit": "kHz"}, "found frequency_unit = 'kHz', but 'MHz' in the file"),
        ({"frequency_unit": "furlong"}, "found frequency_unit = 'furlong'; expected one of Hz"),
        ({"level_column": "Average"}, "found level_column = 'Average', which names no columns"),
        ({"level_column": "Angle [deg]"}, "which is a phase or an angle"),
        ({"level_column": "Frequency [MHz]"}, "which names no columns"),
        ({"level_column": "Amplitude (V)"}, "which is a linear magnitude"),
    ],
)
def test_options_may_not_contradict_the_file(tmp_path, options, message):
    content = "Frequency [MHz],Level [dBuV],Angle [deg],Amplitude (V)\n30,1,90,0.1\n31,2,80,0.1\n"
    assert message in _refused(tmp_path, content, **options)


def test_options_may_agree_with_the_file(tmp_path):
    path = tmp_path / "scan.csv"
    path.write_text(HEAD + "30,1\n31,2\n")
    assert read_scan(path, level_unit="dBµV", frequency_unit="MHz").unit == "dBuV"


def test_a_limit_column_is_read_only_when_picked(tmp_path):
    path = tmp_path / "scan.csv"
    path.write_text("Frequency [MHz],Limit [dBuV]\n30,1\n31,2\n")
    assert read_scan(path, level_column="limit [dbuv]").level_db.tolist() == [1.0, 2.0]


def test_the_phase_conductor_of_the_mains_is_no_angle(tmp_path):
    path = tmp_path / "scan.csv"
    path.write_text("Frequency [MHz],Phase L1 [dBuV]\n0.15,41\n0.16,42\n")
    trace = read_scan(path)
    assert trace.frequency_hz.tolist() == [150e3, 160e3]
    assert trace.level_db.tolist() == [41.0, 42.0]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (HEAD + "30,1\n31,-999\n", "scan.csv:3: found level (dBuV) -999; expected -200 to 200"),
        (HEAD + "30,1\n31e6,1\n", "scan.csv:3: found frequency (Hz) 3.1e+13; expected 0 to 1e+12"),
    ],
)
def test_impossible_values_are_out_of_range(tmp_path, content, message):
    assert message in _refused(tmp_path, content, OutOfRange)


def test_a_missing_unit_is_missing_data(tmp_path):
    assert "level_unit" in _refused(tmp_path, "Frequency [MHz],Level\n30,1\n31,2\n", MissingData)


def test_line_numbers_hold_behind_a_preamble_and_blank_lines(tmp_path):
    for end in ("\n", "\r\n", "\r"):
        content = end.join(
            ['Site "A', "", HEAD.strip(), "", "# x", "30,1", "", "31,bad", "32,1", ""]
        )
        assert "scan.csv:8: found 'bad' for the level" in _refused(tmp_path, content)


def _long_scan(**changed):
    """Write 60,000 rows of 100 characters, more than pandas needs to read them in threads."""
    rows = [f"{30 + i * 1e-3:.3f},{i % 50},{'x' * 90}" for i in range(60_000)]
    rows[50_000] = changed.get("row", rows[50_000])
    return "Frequency [MHz],Level [dBuV],Remark\n" + "\n".join(rows)


def test_a_fault_deep_in_a_file_read_with_threads_has_its_line(tmp_path):
    text = _refused(tmp_path, _long_scan(row="36.0,1,5,7"))
    assert "scan.csv:50002: found 4 columns in '36.0,1,5,7'; expected 3 columns" in text


def test_a_gap_deep_in_a_file_read_with_threads_is_counted(tmp_path):
    path = tmp_path / "scan.csv"
    path.write_text(_long_scan(row="80.000,---,y"))
    trace = read_scan(path)
    assert (trace.frequency_hz.size, trace.blank_rows) == (59_999, 1)


def test_a_nul_byte_behind_the_head_is_refused(tmp_path):
    content = (HEAD + "30,1\n" * 300_000).encode() + b"31,1\0\n"
    assert "found a NUL byte at byte 1500033" in _refused(tmp_path, content)


def test_missing_file_folder_and_device(tmp_path):
    for path, message in (
        (tmp_path / "none.csv", "found no such file; expected a scan file"),
        (tmp_path, "found a folder; expected a scan file"),
        (tmp_path / ("x" * 5000), "found file name too long"),
    ):
        with pytest.raises(InputError) as caught:
            read_scan(path)
        assert message in str(caught.value)


def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    path = tmp_path / "pipe"
    os.mkfifo(path)
    with pytest.raises(InputError, match="a device or a pipe"):
        read_scan(path)


@pytest.mark.parametrize(
    ("size", "message"),
    [(200_000_000, "no end of line in the first megabyte"), (2_000_000_001, "a file of 2.0 GB")],
)
def test_a_huge_file_of_one_line_is_refused_from_its_head(tmp_path, monkeypatch, size, message):
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.write(b"1,2," * (1 << 18))
        file.truncate(size)  # sparse: only its head takes room on the disk
    with pytest.raises(InputError, match=message):
        read_scan(path)


def test_a_row_as_long_as_a_book_is_refused(tmp_path):
    assert "found a line of more than 65536 characters" in _refused(
        tmp_path, HEAD + "30,1\n31," + "1" * 70_000 + "\n"
    )


def test_a_megabyte_without_line_end_behind_the_head_is_refused(tmp_path):
    content = HEAD + "30,1\n" * 300_000 + "1" * 3_000_000
    assert "found a megabyte without an end of line" in _refused(tmp_path, content)


def test_a_preamble_of_a_thousand_lines_is_passed(tmp_path):
    path = tmp_path / "scan.csv"
    path.write_text("Remark: none\n" * 1000 + HEAD + "30,1\n31,2\n")
    trace = read_scan(path)
    assert trace.level_db.tolist() == [1.0, 2.0]
    assert [reading.found for reading in trace.readings if reading.what == "header"] == [
        "line 1001"
    ]
