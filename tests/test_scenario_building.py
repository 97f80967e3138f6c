"""What is built from a scenario for the floors below."""

import pytest

from linkbudget.emissions.scan import ScanRecord
from linkbudget.enclosure.geometry import Box, Metal, Opening, Plate, StatedAttenuation
from linkbudget.scenario import enclosure_of, load_scenario, record_of

HEAD = """
[product]
name = "Clock"
family = "household"
equipment_class = "B"
mains = "built-in"
[[variants]]
name = "only"
radio = "none"
"""
SIZE = 'length = "200 mm"\nwidth = "120 mm"\nthickness = "1.5 mm"\n'
NEAR = 'antenna_depth = "12 mm"\nantenna_to_edge = "-25 mm"\n'


def _load(tmp_path, text):
    path = tmp_path / "scenario.toml"
    path.write_text(HEAD + text)
    return load_scenario(path)


@pytest.mark.parametrize("text", ["", '[metal]\nkind = "none"\n'])
def test_no_metal(tmp_path, text):
    assert enclosure_of(_load(tmp_path, text)) is None


def test_plate_of_a_named_metal(tmp_path):
    text = f'[metal]\nkind = "plate"\nmaterial = "copper"\n{SIZE}{NEAR}'
    # copper: 58 MS/m, IEC 60028, 1/58 ohm mm2/m
    copper = Metal("copper", 5.8e7, 1.0, "typical")
    expected = Plate(0.2, 0.12, 0.0015, copper, depth_m=0.012, edge_distance_m=-0.025)
    assert enclosure_of(_load(tmp_path, text)) == expected


def test_tray_of_a_stated_conductor(tmp_path):
    text = (
        f'[metal]\nkind = "tray"\nconductivity = "10 MS/m"\nrelative_permeability = 3\n{SIZE}{NEAR}'
        'skirt = "8 mm"\n'
    )
    tray = enclosure_of(_load(tmp_path, text))
    assert isinstance(tray, Plate)
    assert tray.skirt_m == pytest.approx(0.008)
    assert tray.metal == Metal("metal of stated conductivity", 1e7, 3.0, "stated")


def test_box_with_openings(tmp_path):
    text = (
        f'[metal]\nkind = "box"\nmaterial = "steel"\n{SIZE}height = "25 mm"\n'
        '[[metal.openings]]\nshape = "slot"\nlength = "60 mm"\nwidth = "2 mm"\n'
        '[[metal.openings]]\nshape = "round"\ndiameter = "5 mm"\ncount = 12\n'
    )
    box = enclosure_of(_load(tmp_path, text))
    assert isinstance(box, Box)
    assert box.height_m == pytest.approx(0.025)
    assert box.openings == (Opening("slot", 0.06, 0.002, 1), Opening("round", 0.005, 0.005, 12))


def test_stated_attenuation(tmp_path):
    text = '[metal]\nkind = "attenuation"\nattenuation = "6 dB"\nspread = "3 dB"\nmeasured = true\n'
    assert enclosure_of(_load(tmp_path, text)) == StatedAttenuation(6.0, 3.0, measured=True)


def test_record_of_a_full_scan(tmp_path):
    (tmp_path / "a.csv").write_text("1,2\n")
    scenario = _load(
        tmp_path,
        """
[[scans]]
file = "a.csv"
port = "enclosure"
transducer = "antenna"
detector = "quasi-peak"
bandwidth = "120 kHz"
step = "60 kHz"
distance = "10 m"
polarisation = "vertical"
antenna_height = "1.5 m"
turntable = "not turned"
site = "yard"
mode = "ticking"
channel = "none"
supply = "battery"
cables = "none"
firmware = "1"
variant = "only"
uncertainty = "5 dB"
""",
    )
    assert record_of(scenario.scans[0]) == ScanRecord(
        port="enclosure",
        transducer="antenna",
        detector="quasi-peak",
        bandwidth_hz=120e3,
        step_hz=60e3,
        distance_m=10.0,
        antenna_height_m=1.5,
        uncertainty_db=5.0,
        variant="only",
        polarisation="vertical",
        turntable="not turned",
        site="yard",
        mode="ticking",
        channel="none",
        supply="battery",
        cables="none",
        firmware="1",
    )


def test_record_of_a_scan_of_which_nobody_said_much(tmp_path):
    (tmp_path / "a.csv").write_text("1,2\n")
    text = '[[scans]]\nfile = "a.csv"\nport = "AC mains"\ntransducer = "current probe"\n'
    scan = _load(tmp_path, text).scans[0]
    assert record_of(scan) == ScanRecord(port="AC mains", transducer="current probe")
