import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, MissingData, OutOfRange
from linkbudget.core.tables import LogFrequencyTable
from linkbudget.emissions.corrections import Correction, correct, merge, read_correction_table
from linkbudget.emissions.scan import ScanRecord, Trace

RADIATED = ScanRecord("enclosure", "antenna", "peak", 120e3, distance_m=3.0)
MAINS = ScanRecord("AC mains", "line-impedance network", "peak", 9e3)
FACTOR = Correction("antenna factor", 10.0)


def _trace(unit="dBuV", low=30e6, high=1e9):
    return Trace(np.array([low, high]), np.array([20.0, 30.0]), unit, "scan.csv")


def _table(*points, name="table"):
    f, level = np.array(points, dtype=float).T
    return LogFrequencyTable(f, level, name)


def _write(path, text):
    path.write_text(text, encoding="utf-8")
    return path


def test_sign_follows_from_the_role():
    chain = [
        FACTOR,
        Correction("cable loss", 2.0),
        Correction("attenuator", 3.0),
        Correction("preamplifier gain", 25.0),
    ]
    scan = correct("scan", _trace(), RADIATED, chain)
    np.testing.assert_allclose(scan.trace.level_db, [10.0, 20.0])  # 20 + 10 + 2 + 3 - 25
    assert scan.chain[0] == "antenna factor: 10 dB/m added, dBuV to dBuV/m"
    assert scan.chain[3] == "preamplifier gain: 25 dB taken off, dBuV/m to dBuV/m"


def test_the_trace_that_was_read_stays_as_it_was():
    trace = _trace()
    correct("scan", trace, RADIATED, [FACTOR])
    np.testing.assert_array_equal(trace.level_db, [20.0, 30.0])
    assert trace.unit == "dBuV"


def test_network_loss_is_added_at_the_mains_port():
    scan = correct("scan", _trace(), MAINS, [Correction("line-impedance network", 0.5)])
    np.testing.assert_allclose(scan.trace.level_db, [20.5, 30.5])
    assert scan.trace.unit == "dBuV"


def test_dbm_is_turned_to_dbuv_first_and_told():
    scan = correct("scan", _trace("dBm"), RADIATED, [FACTOR])
    assert scan.trace.level_db[0] == pytest.approx(20 + 106.99 + 10, abs=0.005)
    assert scan.chain[0] == "dBm to dBuV in 50 ohm: 106.99 dB added"


def test_a_field_strength_needs_nothing():
    trace = _trace("dBuV/m")
    assert correct("scan", trace, RADIATED).trace.level_db == pytest.approx(trace.level_db)


def test_a_missing_antenna_factor_is_refused():
    with pytest.raises(MissingData, match="Add the antenna factor") as caught:
        correct("front", _trace(), RADIATED, [Correction("cable loss", 1.0)])
    assert caught.value.field == "front"


@pytest.mark.parametrize(
    ("unit", "chain"), [("dBuV/m", [FACTOR]), ("dBuV", [FACTOR, FACTOR]), ("dBuA", [FACTOR])]
)
def test_an_antenna_factor_is_counted_once(unit, chain):
    with pytest.raises(InputError, match="counted twice or wrongly"):
        correct("scan", _trace(unit), RADIATED, chain)


@pytest.mark.parametrize(("unit", "chain"), [("dBuV/m", []), ("dBuV", [FACTOR]), ("dBuA", [])])
def test_the_mains_port_is_judged_in_dbuv(unit, chain):
    with pytest.raises(InputError, match="expected dBuV, the unit of the limit lines"):
        correct("scan", _trace(unit), MAINS, chain)


@pytest.mark.parametrize("transducer", ["near-field probe", "current probe"])
def test_a_probe_keeps_its_own_unit(transducer):
    scan = correct("scan", _trace("dBuA"), ScanRecord("enclosure", transducer))
    assert scan.trace.unit == "dBuA"


@pytest.mark.parametrize(
    ("role", "value", "mend"),
    [
        ("preamplifier gain", -30.0, "taken off the reading"),
        ("preamplifier gain", 81.0, "0 to 80 dB"),
        ("cable loss", -1.0, "A loss is written as a positive number"),
        ("attenuator", -10.0, "A loss is written as a positive number"),
        ("line-impedance network", -0.1, "A loss is written as a positive number"),
        ("antenna factor", -21.0, "not the gain"),
        ("antenna factor", 81.0, "-20 to 80 dB/m"),
        ("cable loss", float("nan"), "0 to 60 dB"),
    ],
)
def test_an_implausible_value_is_refused(role, value, mend):
    with pytest.raises(InputError, match=mend):
        Correction(role, value)


def test_one_bad_value_in_a_table_is_enough():
    with pytest.raises(InputError, match=r"cable\.csv: found -0\.5 dB"):
        Correction("cable loss", _table((30e6, 0.5), (1e9, -0.5)), "cable.csv")


def test_nothing_is_extrapolated_and_the_short_table_is_named():
    long = Correction("cable loss", _table((1e6, 1.0), (2e9, 3.0), name="cable"))
    short = Correction("antenna factor", _table((30e6, 8.0), (900e6, 20.0), name="horn"))
    with pytest.raises(OutOfRange, match=r"horn is needed at frequency \(Hz\) 1e\+09"):
        correct("scan", _trace(), RADIATED, [long, short])


def test_tables_without_a_common_frequency_are_refused():
    low = Correction("cable loss", _table((1e6, 1.0), (2e6, 1.0), name="low"))
    high = Correction("attenuator", _table((3e6, 1.0), (4e6, 1.0), name="high"))
    with pytest.raises(InputError, match="low and high"):
        merge([low, high])


def test_constants_alone_merge_to_a_number():
    assert merge([FACTOR, Correction("preamplifier gain", 12.5)]) == -2.5
    assert merge([]) == 0.0


@st.composite
def _correction(draw):
    role = draw(st.sampled_from(["antenna factor", "cable loss", "preamplifier gain"]))
    inner = draw(st.lists(st.floats(31e6, 999e6), max_size=6, unique=True))
    nodes = np.array([30e6, *sorted(inner), 1e9])
    nodes = nodes[np.append(True, np.diff(nodes) > 1.0)]
    levels = draw(st.lists(st.floats(0.0, 50.0), min_size=nodes.size, max_size=nodes.size))
    return Correction(role, LogFrequencyTable(nodes, np.array(levels), role))


@given(st.lists(_correction(), min_size=1, max_size=4), st.floats(0.0, 40.0))
def test_the_merged_table_equals_the_sum_of_all(corrections, gain):
    f = np.geomspace(30e6, 1e9, 777)
    apart = sum(one.sign * one.value.at(f) for one in corrections) - gain
    merged = merge([*corrections, Correction("preamplifier gain", gain)])
    np.testing.assert_allclose(merged.at(f), apart, atol=1e-7)


@pytest.mark.parametrize(
    "text",
    [
        "frequency (MHz),antenna factor (dB/m)\n30,18.5\n1000,24\n",
        "Frequency [MHz];AF [dB(1/m)]\n30;18.5\n1000;24\n",
        "\ufefff/MHz\tfactor\n\n# calibrated\n30\t18.5\n1000\t24\n",
        "frequency (Hz),factor\r\n30e6,18.5\r\n1e9,24\r\n",
        "GHz,dB/m\n0.03,18.5\n1,24",
    ],
)
def test_a_table_is_read(tmp_path, text):
    found = read_correction_table(_write(tmp_path / "horn.csv", text), "antenna factor")
    assert found.name == "horn.csv"
    np.testing.assert_allclose(found.value.frequency_hz, [30e6, 1e9])
    np.testing.assert_allclose(found.value.level_db, [18.5, 24.0])


HEAD = "frequency (MHz),loss (dB)\n"


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("frequency,loss (dB)\n1,2\n", 1, "State the frequency's unit"),
        ("frequency (mHz),loss (dB)\n1,2\n", 1, "State the frequency's unit"),
        ("frequency (MHz),loss (dB/m)\n1,2\n", 1, "a value in dB/m"),
        ("frequency (MHz)\n1\n", 1, "1 columns"),
        (HEAD + "30,1\n40,x\n", 3, "two numbers"),
        (HEAD + "30,1\n40,1,5\n", 3, "3 cells"),
        (HEAD + "30,1\n40,nan\n", 3, "finite value"),
        (HEAD + "0,1\n", 2, "positive frequency"),
        (HEAD + "30,1\n30,2\n", 3, "strictly rising"),
        (HEAD + "30,1\n20,2\n", 3, "found frequency 20 after 30"),
        (HEAD + '30,"1\n', 2, "two numbers"),
        ("frequency (MHz);loss (dB)\n30;1,5\n", 2, "decimal mark as a point"),
        (HEAD, None, "at least one row"),
        ("", None, "0 lines"),
        (HEAD + "30,-1\n", None, "A loss is written as a positive number"),
    ],
)
def test_a_bad_table_is_told_with_file_and_line(tmp_path, text, line, message):
    path = _write(tmp_path / "cable.csv", text)
    with pytest.raises(InputError, match=message) as caught:
        read_correction_table(path, "cable loss")
    assert caught.value.file == str(path)
    assert caught.value.line == line


def test_a_binary_missing_or_vast_file_is_refused(tmp_path):
    (tmp_path / "binary.csv").write_bytes(b"\xff\xfe\x00\x80" * 10)
    with pytest.raises(InputError, match="not UTF-8"):
        read_correction_table(tmp_path / "binary.csv", "cable loss")
    with pytest.raises(InputError, match="No such file"):
        read_correction_table(tmp_path / "none.csv", "cable loss")
    with (tmp_path / "vast.csv").open("wb") as file:
        file.truncate(200_000_000)
    with pytest.raises(InputError, match="below 10 MB"):
        read_correction_table(tmp_path / "vast.csv", "cable loss")


def test_a_long_bad_row_is_shown_in_part(tmp_path):
    path = _write(tmp_path / "cable.csv", HEAD + "7" * 200_000 + "\n")
    with pytest.raises(InputError) as caught:
        read_correction_table(path, "cable loss")
    assert len(str(caught.value)) < 500
