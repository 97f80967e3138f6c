"""The field solver's answers against finite differences in time, image theory and reciprocity."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from linkbudget.enclosure import fullwave
from linkbudget.enclosure.fullwave.mesh import two_meshes
from linkbudget.enclosure.fullwave.solver import Job
from linkbudget.enclosure.geometry import Board, Metal, PlacedAntenna, Plate, Scene
from linkbudget.enclosure.plates import plate_effect

pytestmark = pytest.mark.skipif(
    not fullwave.available(), reason="the optional extra 'fullwave' is not installed"
)
HERE = Path(__file__).parent
ALUMINIUM = Metal("aluminium", 3.5e7)
FREQUENCY_HZ = 2.44e9

# Finite differences in time at 2440 MHz, thin dipole of 56.5 mm, perfect conductor, by an
# independent general-purpose solver: uncertainty 0.3 dB on power and means, 1 dB on axis. Sheet,
# skirt, depth and offset in mm; total radiated power, mean above, mean below, straight up, against
# the free dipole in dB; directivity above and below (means), straight up and largest in dBi; ohm.
CASES = {
    "plate-180x120-h12": (
        (180, 120, 0, 12, 0),
        (-1.79, -14.23, 1.09, -19.27),
        (-12.44, 2.88, -15.31, 9.36),
        21.14,
    ),
    "plate-180x120-h31": (
        (180, 120, 0, 31, 0),
        (-0.18, -10.69, 2.63, -15.19),
        (-10.51, 2.81, -12.84, 8.28),
        89.91,
    ),
    "plate-180x120-h5": (
        (180, 120, 0, 5, 0),
        (-7.38, -20.07, -4.48, -24.86),
        (-12.69, 2.89, -15.32, 9.48),
        3.77,
    ),
    "plate-180x120-h5-y70": (
        (180, 120, 0, 5, 70),
        (-0.47, -1.46, 0.34, -0.74),
        (-0.99, 0.81, 1.90, 5.81),
        42.01,
    ),
    "plate-90x60-h8": (
        (90, 60, 0, 8, 0),
        (-4.07, -12.95, -1.35, -13.07),
        (-8.88, 2.72, -6.83, 7.95),
        9.05,
    ),
    "tray-200x120-skirt8-h5": (
        (200, 120, 8, 5, 0),
        (-7.28, -21.02, -4.37, -28.81),
        (-13.74, 2.92, -19.36, 9.55),
        4.09,
    ),
}


def _scene(
    length_mm, width_mm, skirt_mm, depth_mm, across_mm, kind="half-wave dipole", efficiency=1.0
):
    antenna = PlacedAntenna(
        kind, "length", 0.0, across_mm / 1e3, depth_mm / 1e3, efficiency=efficiency
    )
    plate = Plate(
        length_m=length_mm / 1e3,
        width_m=width_mm / 1e3,
        thickness_m=0.001,
        metal=ALUMINIUM,
        depth_m=depth_mm / 1e3,
        edge_distance_m=(width_mm / 2 - across_mm) / 1e3,
        skirt_m=skirt_mm / 1e3,
    )
    return Scene(antenna, plate=plate)


def _holds(quantity, value, of_reference):
    low, high = quantity.band
    return low - of_reference <= value <= high + of_reference


@pytest.mark.parametrize(("geometry", "changes", "directivity", "ohm"), CASES.values(), ids=CASES)
def test_finite_differences_in_time(geometry, changes, directivity, ohm):
    found = fullwave.compare(_scene(*geometry), FREQUENCY_HZ, FREQUENCY_HZ)
    metal = found.with_metal
    means = (
        (found.total_radiated(), changes[0]),
        (found.mean_gain("above"), changes[1]),
        (found.mean_gain("below"), changes[2]),
        (metal.directivity("above"), directivity[0]),
        (metal.directivity("below"), directivity[1]),
        (metal.directivity_max, directivity[3]),
    )
    for quantity, value in means:
        assert quantity.value == pytest.approx(value, abs=0.35)  # asked for: 0.5
        assert _holds(quantity, value, of_reference=0.3)
    up = ((found.gain_above(), changes[3]), (metal.directivity_above, directivity[2]))
    for quantity, value in up:
        assert quantity.value == pytest.approx(value, abs=2.5)
        assert _holds(quantity, value, of_reference=1.0)
    assert metal.impedance_ohm[0].real == pytest.approx(ohm, rel=0.1)


@pytest.mark.parametrize("geometry", [case[0] for case in CASES.values()], ids=CASES)
def test_closed_forms_scatter_as_far_as_single_directions_do(geometry):
    scene = _scene(*geometry)
    found = fullwave.compare(scene, FREQUENCY_HZ, FREQUENCY_HZ)
    spread, mean_db = found.spread("anywhere"), found.mean_gain("anywhere").value
    low, high = plate_effect(scene.plate, FREQUENCY_HZ, "anywhere").scatter.band
    # 10 and 90 % of all directions, as losses against the mean; 1 dB for a single direction
    assert low - 1.0 <= mean_db - spread.high.value
    assert high + 1.0 >= mean_db - spread.low.value


def test_half_wave_dipole_alone():
    # finite differences: 71.92 ohm, 2.17 dBi
    alone = fullwave.solve(Scene(_scene(1, 1, 0, 10, 0).antenna), FREQUENCY_HZ, FREQUENCY_HZ)
    assert alone.impedance_ohm[0] == pytest.approx(71.92 + 0j, abs=0.5)
    assert alone.directivity_max.value == pytest.approx(2.17, abs=0.05)


@pytest.mark.parametrize(
    ("depth_in_wavelengths", "resistance_ohm", "reactance_ohm"),
    # image theory, Z11 - Z12 of two half-wave filaments side by side (C. A. Balanis, Antenna
    # Theory, mutual impedance; computed), the free dipole resonant
    [(0.1, 21.72, 19.16), (0.25, 85.60, 29.91)],
)
def test_a_large_plane_acts_as_an_image(depth_in_wavelengths, resistance_ohm, reactance_ohm):
    depth_mm = depth_in_wavelengths * 122.866
    found = fullwave.solve(_scene(170, 170, 0, depth_mm, 0), FREQUENCY_HZ, FREQUENCY_HZ)
    # edges 0.7 wavelengths away, and a wire that is no filament
    assert found.impedance_ohm[0].real == pytest.approx(resistance_ohm, rel=0.06)
    assert found.impedance_ohm[0].imag == pytest.approx(reactance_ohm, abs=8.0)
    # twice the power on one side, almost nothing on the other
    assert found.directivity("below").value == pytest.approx(3.01, abs=0.3)


def test_a_chip_antenna_of_half_efficiency_loses_13_db_at_5_mm():
    # its loss resistance stays while the radiation resistance falls to a twentieth: by image theory
    # 10 log10(3.8 / (3.8 + 73)) = -13.1 dB; re-matching does not bring that back
    found = fullwave.compare(
        _scene(180, 120, 0, 5, 0, "chip", efficiency=0.5), FREQUENCY_HZ, FREQUENCY_HZ
    )
    assert found.radiated_of_available().value == pytest.approx(-13.1, abs=1.0)
    assert found.radiated_of_available("re-matched").value == pytest.approx(-13.1, abs=0.5)
    assert found.total_radiated().value == pytest.approx(-10.1, abs=1.0)
    assert found.split("anywhere").dissipation.value == pytest.approx(9.9, abs=0.5)


@pytest.mark.parametrize(
    "scene",
    [
        _scene(90, 60, 0, 8, 10),
        Scene(
            PlacedAntenna("half-wave dipole", "width", 0.01, 0.0, 0.012),
            Board(0.05, 0.03, 0.0, 0.0, 0.02),
        ),
    ],
    ids=["plate", "board"],
)
def test_an_antenna_receives_as_it_sends(scene):
    mesh, _ = two_meshes(scene, FREQUENCY_HZ)
    request = Job(mesh, (FREQUENCY_HZ,), FREQUENCY_HZ).request()
    directions = [(0, 0), (30, 45), (60, 90), (120, 15), (180, 0)]
    run = subprocess.run(
        [sys.executable, str(HERE / "plane_wave.py")],
        input=json.dumps({"request": request, "directions_deg": directions}),
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    alone = fullwave.solve(scene, FREQUENCY_HZ, FREQUENCY_HZ).coarse
    accepted = 10.0 ** (alone.power_balance_db / 10.0)
    for (theta, phi), received_dbi in zip(directions, json.loads(run.stdout), strict=True):
        sent = alone.gain[round(theta / 3.0), round(phi / 7.5)] * accepted
        assert 10.0 ** (received_dbi / 10.0) == pytest.approx(sent, rel=0.05, abs=0.02)
