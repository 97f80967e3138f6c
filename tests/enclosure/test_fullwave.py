"""The field solver's room: meshes, refusals, its child process, its cache, and what must hold."""

import json
import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, LinkbudgetError, MissingData
from linkbudget.enclosure import fullwave
from linkbudget.enclosure.fullwave import cache, grids, matching, sides, solver
from linkbudget.enclosure.fullwave import mesh as meshing
from linkbudget.enclosure.fullwave.mesh import MOST_SEGMENTS, Mesh, two_meshes
from linkbudget.enclosure.fullwave.wires import Wire
from linkbudget.enclosure.geometry import Board, Metal, Opening, PlacedAntenna, Plate, Scene

needs_solver = pytest.mark.skipif(
    not fullwave.available(), reason="the optional extra 'fullwave' is not installed"
)
F = 2.44e9
ALUMINIUM = Metal("aluminium", 3.5e7)
DIPOLE = PlacedAntenna("half-wave dipole", "length", 0.0, 0.0, 0.008)
BOARD = Board(0.050, 0.030, 0.0, 0.0, 0.020)


def plate(length_mm=90.0, width_mm=60.0, skirt_mm=0.0, openings=()):
    return Plate(
        length_mm / 1e3,
        width_mm / 1e3,
        0.001,
        ALUMINIUM,
        0.008,
        0.0,
        skirt_mm / 1e3,
        openings,
    )


SMALL = Scene(DIPOLE, plate=plate())


# --- what must hold of any answer ------------------------------------------------------------


@needs_solver
@settings(max_examples=5, derandomize=True)
@given(
    length_mm=st.integers(60, 110),
    width_mm=st.integers(45, 70),
    skirt_mm=st.sampled_from([0, 6]),
    depth_mm=st.integers(8, 20),
    x_mm=st.integers(-8, 8),
    y_mm=st.integers(-8, 8),
)
def test_power_balance_and_convergence(length_mm, width_mm, skirt_mm, depth_mm, x_mm, y_mm):
    antenna = replace(DIPOLE, x_m=x_mm / 1e3, y_m=y_mm / 1e3, depth_m=depth_mm / 1e3)
    if skirt_mm:
        length_mm, width_mm = length_mm + 30, width_mm + 10  # the antenna must fit inside
    found = fullwave.compare(Scene(antenna, plate=plate(length_mm, width_mm, skirt_mm)), F, F)
    metal = found.with_metal
    # the solver's own power at the feed, and the power that arrives far away
    assert abs(metal.fine.power_balance_db) < 0.2
    # nothing radiates more than the source can give
    assert found.radiated_of_available().value <= 0.01
    # the two sides share what there is
    means = [10 ** (found.mean_gain(side).value / 10) for side in ("above", "below")]
    assert np.mean(means) == pytest.approx(10 ** (found.total_radiated().value / 10), rel=0.01)
    # two meshes agree
    assert metal.coarse.segments < metal.fine.segments
    for quantity in (found.total_radiated(), found.mean_gain("above"), found.mean_gain("below")):
        assert quantity.band[1] - quantity.value <= 0.5


@needs_solver
def test_a_turned_or_mirrored_product_is_the_same_product():
    antenna = replace(DIPOLE, x_m=0.006, y_m=0.010)
    turned = replace(antenna, along="width", x_m=-0.010, y_m=0.006)
    mirrored = replace(antenna, y_m=-0.010)
    expected = fullwave.compare(Scene(antenna, plate=plate()), F, F)
    for scene in (
        Scene(turned, plate=plate(60.0, 90.0)),
        Scene(mirrored, plate=plate()),
    ):
        found = fullwave.compare(scene, F, F)
        for side in ("above", "beside", "below"):
            value = expected.mean_gain(side).value
            assert found.mean_gain(side).value == pytest.approx(value, abs=0.05)


@needs_solver
def test_a_scale_model_at_its_own_frequency_is_the_same():
    half = Scene(
        replace(DIPOLE, depth_m=0.004), plate=replace(plate(), length_m=0.045, width_m=0.030)
    )
    one, other = fullwave.compare(SMALL, F, F), fullwave.compare(half, 2 * F, 2 * F)
    assert other.total_radiated().value == pytest.approx(one.total_radiated().value, abs=0.02)


@needs_solver
def test_the_parts_of_the_loss_add_up():
    scene = Scene(replace(DIPOLE, kind="chip", efficiency=0.5), plate=plate())
    found = fullwave.compare(scene, 2.40e9, 2.4835e9)
    for match in ("as is", "re-matched"):
        for side in ("above", "beside", "below", "anywhere"):
            split = found.split(side, match)
            parts = split.detuning.value + split.dissipation.value + split.shadow.value
            assert parts == pytest.approx(-found.mean_gain(side, match).value, abs=1e-9)
    assert found.split("anywhere").shadow.value == pytest.approx(0.0, abs=1e-9)
    assert found.with_metal.radiated_share < found.without_metal.radiated_share
    assert found.without_metal.radiated_share == pytest.approx(0.5, abs=1e-6)


@needs_solver
def test_the_band_is_swept_and_rematching_never_makes_it_worse():
    found = fullwave.compare(SMALL, 2.40e9, 2.4835e9)
    assert found.with_metal.frequencies_hz.tolist() == [2.40e9, 2.44175e9, 2.4835e9]
    as_is, rematched = found.accepted_share(), found.accepted_share("re-matched")
    assert found.frequencies_hz.shape == as_is.shape == (21,)
    assert rematched.mean() >= as_is.mean()
    # a dipole's reactance rises with frequency
    assert np.all(np.diff(found.with_metal.impedance_ohm.imag) > 0.0)
    np.testing.assert_allclose(found.without_metal.port_impedance_ohm[1].imag, 0.0, atol=1e-9)


@needs_solver
def test_the_spread_over_directions_is_in_order_and_holds_the_mean():
    found = fullwave.compare(SMALL, F, F)
    for side in ("above", "beside", "below"):
        spread = found.spread(side)
        assert spread.low.value <= spread.middle.value <= spread.high.value
        assert spread.low.value < found.mean_gain(side).value


@needs_solver
@pytest.mark.parametrize(
    ("antenna", "board"),
    [
        (
            PlacedAntenna("quarter-wave monopole", "upright", 0.0, 0.0, 0.045),
            replace(BOARD, depth_m=0.045),
        ),
        (PlacedAntenna("quarter-wave monopole", "length", 0.025, 0.0, 0.020), BOARD),
        (PlacedAntenna("inverted-F", "length", 0.020, 0.015, 0.020), BOARD),
        (PlacedAntenna("inverted-F", "width", 0.020, -0.010, 0.014), BOARD),
    ],
    ids=["upright", "out of the edge", "inverted-F beside", "inverted-F above"],
)
def test_antennas_that_stand_on_the_board(antenna, board):
    found = fullwave.compare(Scene(antenna, board, plate(80, 50)), F, F)
    free = found.without_metal
    assert 5.0 < free.impedance_ohm[0].real < 400.0
    assert found.radiated_of_available().value <= 0.01
    assert found.mean_gain("above").value < found.mean_gain("below").value
    assert found.total_radiated().band[1] - found.total_radiated().value < 1.0


@needs_solver
def test_what_is_not_in_the_solved_geometry_is_said():
    hole = (Opening("slot", 0.02, 0.001),)
    found = fullwave.solve(Scene(DIPOLE, plate=plate(openings=hole)), F, F)
    assert any("openings" in caution for caution in found.cautions)
    low = fullwave.solve(Scene(DIPOLE, plate=plate(skirt_mm=0.5)), F, F)
    assert any("0.5 mm is too low" in caution for caution in low.cautions)


# --- meshes ----------------------------------------------------------------------------------


def test_wires_meet_and_none_stands_twice():
    scene = Scene(replace(DIPOLE, x_m=0.0123, y_m=-0.0071), BOARD, plate(123.4, 77.7, 6.0))
    for mesh in two_meshes(scene, F):
        grid = mesh.wires[1:]
        ends = {end for wire in grid for end in (wire.start, wire.stop)}
        meetings = [sum(end in (w.start, w.stop) for w in grid) for end in ends]
        assert min(meetings) >= 2  # nothing hangs loose
        assert len({frozenset((w.start, w.stop)) for w in grid}) == len(grid)
        # two points either are one, or are far apart: none a rounding away
        heights = sorted({end[2] for end in ends})
        assert min(np.diff(heights)) > 0.001
        for wire in grid:
            assert wire.length_m / wire.segments > 2.0 * wire.radius_m


def test_equal_area_rule():
    mesh = two_meshes(Scene(DIPOLE, plate=plate(100, 100)), F)[1]
    steps = {round(wire.length_m, 6) for wire in mesh.wires[1:]}
    (step,) = steps
    # Ludwig 1987: circumference of the wire equals the spacing of the grid
    assert mesh.wires[1].radius_m == pytest.approx(step / 6.283185, rel=1e-3)


def test_a_near_antenna_gets_a_finer_mesh():
    sheet = plate(180, 120)
    far = two_meshes(Scene(replace(DIPOLE, depth_m=0.02), plate=sheet), F)
    near = two_meshes(Scene(replace(DIPOLE, depth_m=0.0025), plate=sheet), F)
    assert near[0].cell_m == pytest.approx(0.005)
    assert near[1].segments > 2 * far[1].segments


def test_small_metal_gets_a_finer_mesh():
    small, large = (
        two_meshes(Scene(DIPOLE, plate=plate(*s)), F)[1] for s in ((80, 50), (180, 120))
    )
    assert small.cell_m < 0.8 * large.cell_m
    assert 500 < small.segments < large.segments


def test_a_monopole_stands_on_a_node_of_the_grid():
    antenna = PlacedAntenna("quarter-wave monopole", "upright", 0.0037, 0.0051, 0.020)
    for mesh in two_meshes(Scene(antenna, BOARD), F):
        foot = mesh.wires[0].start
        assert sum(foot in (w.start, w.stop) for w in mesh.wires[1:]) == 4
        assert foot == (0.0037, 0.0051, -0.02)


@pytest.mark.parametrize(
    ("scene", "says"),
    [
        (Scene(replace(DIPOLE, depth_m=0.0)), "fine without a sheet"),
        (Scene(replace(DIPOLE, depth_m=0.0), plate=plate()), "depth above zero"),
        (Scene(replace(DIPOLE, depth_m=0.001), plate=plate()), "at least 1.23 mm"),
        (
            Scene(replace(DIPOLE, along="upright"), plate=plate()),
            "the antenna inside or across the sheet",
        ),
        (Scene(replace(DIPOLE, x_m=0.03), plate=plate(skirt_mm=10)), "across the skirt"),
        (
            Scene(replace(DIPOLE, depth_m=0.02), BOARD, plate()),
            "the antenna inside or across the board",
        ),
        (Scene(DIPOLE, replace(BOARD, depth_m=0.0), plate()), "a board 0 mm under the sheet"),
        (
            Scene(replace(DIPOLE, depth_m=0.03), replace(BOARD, length_m=0.2), plate(skirt_mm=25)),
            "the board inside or across the skirt",
        ),
        (Scene(replace(DIPOLE, kind="inverted-F")), "without a board"),
        (
            Scene(PlacedAntenna("inverted-F", "length", 0.1, 0.0, 0.014), BOARD),
            "a place on the board",
        ),
        (Scene(PlacedAntenna("inverted-F", "upright", 0.0, 0.0, 0.014), BOARD), "an arm that lies"),
        (Scene(PlacedAntenna("inverted-F", "length", 0.0, 0.0, 0.020), BOARD), "a foot on an edge"),
        (
            Scene(PlacedAntenna("quarter-wave monopole", "upright", 0.0, 0.0, 0.08), BOARD),
            "a depth on the antenna",
        ),
        (
            Scene(
                PlacedAntenna("quarter-wave monopole", "upright", 0.0, 0.0, 0.02), BOARD, plate()
            ),
            "inside or across the sheet",
        ),
        (Scene(DIPOLE, plate=plate(900, 700)), f"at most {MOST_SEGMENTS} segments"),
        (Scene(replace(DIPOLE, length_m=-0.01)), "a length above zero"),
        (Scene(replace(DIPOLE, efficiency=0.0)), "efficiency of the antenna"),
        (Scene(DIPOLE, plate=plate(-1, 60)), "length of the sheet"),
    ],
)
def test_impossible_geometry_is_refused_before_the_solver(scene, says, monkeypatch):
    def never(*_, **__):
        raise LinkbudgetError("fine without a sheet")

    monkeypatch.setattr(fullwave, "solve_jobs", never)
    with pytest.raises(LinkbudgetError, match=says):
        fullwave.solve(scene, F, F)


@settings(deadline=None)
@given(
    st.integers(20, 400), st.integers(20, 400), st.sampled_from([0, 3, 8, 40]), st.floats(3.0, 25.0)
)
def test_wires_are_counted_as_they_are_made(length_mm, width_mm, skirt_mm, cell_mm):
    sheet = grids.Sheet(
        "the sheet", length_mm / 1e3, width_mm / 1e3, skirt_m=skirt_mm / 1e3, anchors=((0.0, 0.0),)
    )
    wires = grids.sheet_wires(sheet, cell_mm / 1e3)
    assert grids.sheet_segments(sheet, cell_mm / 1e3) == sum(wire.segments for wire in wires)


@pytest.mark.parametrize("depth_mm", [5.0, 31.0])
def test_a_sheet_too_large_is_refused_before_any_wire_is_made(depth_mm, monkeypatch):
    def never(*_):
        raise AssertionError("wires for a mesh that nobody can solve")

    monkeypatch.setattr(meshing, "sheet_wires", never)
    scene = Scene(replace(DIPOLE, depth_m=depth_mm / 1e3), plate=plate(1000, 1000))
    with pytest.raises(meshing.MeshTooLarge, match="segments in cells of"):
        two_meshes(scene, F)


def test_a_refused_size_says_memory_time_and_what_to_do():
    with pytest.raises(InputError) as caught:
        two_meshes(Scene(DIPOLE, plate=plate(900, 700)), F)
    text = str(caught.value)
    assert "MB and about" in text
    assert "within two wavelengths of the antenna" in text


@pytest.mark.parametrize(("low", "high"), [(2.5e9, 2.4e9), (0.0, 1e9), (float("nan"), 1e9)])
def test_a_band_that_is_none(low, high):
    with pytest.raises(InputError, match="the lower one first"):
        fullwave.solve(SMALL, low, high)


def test_a_band_too_wide_for_one_mesh():
    with pytest.raises(meshing.MeshTooLarge, match=r"a band from 1 to 3\.5 GHz") as caught:
        fullwave.solve(SMALL, 1e9, 3.5e9)
    assert "radios of their own" in str(caught.value)


def test_a_wide_band_is_solved_and_said_to_be_wide():
    found = fullwave.compare(SMALL, 2.4e9, 5.8e9)
    middle = fullwave.compare(SMALL, 4.1e9, 4.1e9)
    assert found.total_radiated().value == pytest.approx(middle.total_radiated().value, abs=0.05)
    assert any("2.4 to 5.8 GHz, is wide" in caution for caution in found.cautions)
    assert not any("is wide" in caution for caution in middle.cautions)
    for match in ("as is", "re-matched"):
        share = found.accepted_share(match)
        assert 0.0 <= share.min() <= share.max() <= 1.0 + 1e-9


def test_comparing_needs_a_sheet():
    with pytest.raises(InputError, match="without a sheet"):
        fullwave.compare(Scene(DIPOLE), F, F)


# --- the child process -----------------------------------------------------------------------

LONE = solver.Job(Mesh((Wire((0.0, 0.0, 0.0), (0.05, 0.0, 0.0), 11, 1e-4),), 6, 0.0), (F,), F)


@pytest.fixture
def child(tmp_path, monkeypatch):
    """Put another program in the child's place, with an empty cache."""

    def placed(source):
        (tmp_path / "strange_child.py").write_text(source)
        monkeypatch.setattr(solver, "_CHILD", "strange_child")
        monkeypatch.setattr(solver, "available", lambda: True)
        monkeypatch.setenv("PYTHONPATH", str(tmp_path))
        monkeypatch.setenv("LINKBUDGET_CACHE", str(tmp_path / "cache"))

    return placed


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ("import os; os.abort()", "stopped"),
        ("import sys; sys.exit('what is this')", "what is this"),
        ("pass", "stopped"),
        ("print('hello')", "no result"),
        ('print(\'{"error": "RuntimeError: Unknown exception"}\')', "Move the antenna"),
        ('print(\'{"error": "out of memory"}\')', "ran out of memory"),
        ('print(\'{"error": "ImportError: libfoo.so: not found"}\')', "does not start"),
        ('print(\'{"error": "ImportError: libfoo.so: not found"}\')', "force-reinstall"),
        ("import os; os.abort()", "SIGABRT"),
    ],
)
def test_a_crash_is_a_message(child, source, says):
    child(source)
    with pytest.raises(fullwave.SolverFailed, match=says) as caught:
        solver.solve_jobs([LONE])
    assert "closed forms answer" in str(caught.value)


def test_a_broken_installation_is_not_blamed_on_the_geometry(child):
    child('print(\'{"error": "ImportError: libfoo.so"}\')')
    with pytest.raises(fullwave.SolverFailed) as caught:
        solver.solve_jobs([LONE])
    assert "libfoo.so" in str(caught.value)
    assert "millimetre" not in str(caught.value)


def test_the_child_starts_without_a_word_of_its_own():
    done = subprocess.run(
        [sys.executable, "-P", "-m", "linkbudget.enclosure.fullwave.child"],
        input='{"memory_bytes": 1000000000, "jobs": []}',
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_a_hang_is_a_message(child, monkeypatch):
    child("import time; time.sleep(60)")
    monkeypatch.setattr(solver, "_LEAST_SECONDS", 0.5)
    with pytest.raises(fullwave.SolverFailed, match="no answer within"):
        solver.solve_jobs([LONE])


@needs_solver
def test_garbage_geometry_of_the_library_is_a_message(tmp_path, monkeypatch):
    monkeypatch.setenv("LINKBUDGET_CACHE", str(tmp_path))
    fat = Wire((0.0, 0.0, 0.0), (0.001, 0.0, 0.0), 1, 0.02)
    through = Wire((0.0005, 0.0, 0.0), (0.0005, 0.02, 0.0), 3, 0.02)
    with pytest.raises(fullwave.SolverFailed, match="refused the geometry"):
        solver.solve_jobs([replace(LONE, mesh=Mesh((fat, through), 1, 0.0))])
    assert not list(tmp_path.rglob("*.json"))


@needs_solver
@pytest.mark.skipif(sys.platform == "win32", reason="no address-space limit there")
def test_the_child_has_a_limit_on_memory(tmp_path, monkeypatch):
    monkeypatch.setenv("LINKBUDGET_CACHE", str(tmp_path))
    monkeypatch.setattr(solver, "bytes_to_solve", lambda _: -(1 << 30) / 3 + 2e7)
    with pytest.raises(fullwave.SolverFailed):
        solver.solve_jobs([LONE])


def test_without_the_solver(tmp_path, monkeypatch):
    monkeypatch.setenv("LINKBUDGET_CACHE", str(tmp_path))
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    assert not fullwave.available()
    with pytest.raises(MissingData, match="optional extra 'fullwave'"):
        fullwave.solve(SMALL, F, F)


def test_asking_whether_it_is_there_does_not_load_it():
    code = (
        "import sys; from linkbudget.enclosure import fullwave; fullwave.available();"
        " print('PyNEC' in sys.modules, 'scipy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


@needs_solver
def test_progress_is_told_in_words(tmp_path, monkeypatch):
    monkeypatch.setenv("LINKBUDGET_CACHE", str(tmp_path))
    told = []
    fullwave.solve(Scene(DIPOLE), F, F, progress=told.append)
    assert told
    assert all("segments" in words for words in told)
    told.clear()
    fullwave.solve(Scene(DIPOLE), F, F, progress=told.append)
    assert told == []  # from the cache


# --- the cache -------------------------------------------------------------------------------

ANSWER = {"impedance_ohm": [[72.0, 0.5]], "gain_db": [[1.5] * 48] * 61}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("LINKBUDGET_CACHE", str(tmp_path))
    return tmp_path / "fullwave"


def test_an_answer_is_found_again(folder):
    request = LONE.request()
    assert cache.read(request) is None
    cache.write(request, ANSWER)
    assert cache.read(request) == ANSWER
    assert cache.read(replace(LONE, pattern_hz=F + 1).request()) is None
    assert [path.suffix for path in folder.iterdir()] == [".json"]


@pytest.mark.parametrize(
    "damage",
    [
        b"",
        b"{",
        b"[]",
        b"\xff\xfe\x00",
        b'{"impedance_ohm": [], "gain_db": []}',
        json.dumps(ANSWER | {"impedance_ohm": [[72.0]]}).encode(),
        json.dumps(ANSWER | {"gain_db": [["x"] * 48] * 61}).encode(),
        json.dumps(ANSWER | {"impedance_ohm": [[float("nan"), 0.0]]}).encode(),
        json.dumps(ANSWER)[:-40].encode(),
    ],
)
def test_a_damaged_entry_is_no_entry(folder, damage):
    cache.write(LONE.request(), ANSWER)
    (path,) = folder.iterdir()
    path.write_bytes(damage)
    assert cache.read(LONE.request()) is None
    cache.write(LONE.request(), ANSWER)
    assert cache.read(LONE.request()) == ANSWER


def test_a_cache_that_cannot_be_written_is_no_error(tmp_path, monkeypatch):
    blocked = tmp_path / "file"
    blocked.write_text("")
    monkeypatch.setenv("LINKBUDGET_CACHE", str(blocked))
    cache.write(LONE.request(), ANSWER)
    assert cache.read(LONE.request()) is None


def test_two_processes_write_at_once(folder):
    code = (
        "from linkbudget.enclosure.fullwave import cache\n"
        "answer = {'impedance_ohm': [[72.0, 0.5]], 'gain_db': [[1.5] * 48] * 61}\n"
        "for turn in range(200):\n"
        "    cache.write({'turn': turn % 3}, answer)\n"
        "    assert cache.read({'turn': turn % 3}) == answer\n"
    )
    both = [subprocess.Popen([sys.executable, "-c", code], env=os.environ) for _ in range(2)]
    assert [process.wait(timeout=60) for process in both] == [0, 0]
    assert sorted(path.suffix for path in folder.iterdir()) == [".json"] * 3


def test_the_users_cache_folder_is_the_default(monkeypatch):
    monkeypatch.delenv("LINKBUDGET_CACHE")
    assert cache.folder().parts[-2:] == ("linkbudget", "fullwave")


# --- sides and matching ----------------------------------------------------------------------


def test_solid_angles_of_the_sides():
    even = np.ones((61, 48))
    for side in sides.SIDES:
        assert sides.side_mean(even, side) == pytest.approx(1.0)
        assert sides.side_quantiles(even, side) == (1.0, 1.0, 1.0)
    # a short dipole upright, 1.5 sin^2: beside it the mean is 1.5 (1 - 1/12)
    upright = np.repeat(1.5 * np.sin(np.radians(sides.THETA_DEG))[:, None] ** 2, 48, axis=1)
    assert sides.side_mean(upright, "anywhere") == pytest.approx(1.0, abs=0.002)
    assert sides.side_mean(upright, "beside") == pytest.approx(1.375, abs=0.002)
    # 1 - cos^2 over a cos that is spread evenly: 10, 50 and 90 % of the half-space
    expected = [1.5 * (1 - c**2) for c in (0.9, 0.5, 0.1)]
    assert sides.side_quantiles(upright, "above") == pytest.approx(expected, abs=0.05)


def test_a_network_of_two_lossy_parts():
    # 10 to 50 ohm: quality factor 2, series 20 and shunt 25 ohm. Loss of the parts, to first order
    # Q / Q_part each (common practice, from memory): series coil 2/30, shunt capacitor 2/100
    found = matching.best_match(np.array([2.44e9]), np.array([10.0 + 0j]), 50.0)
    assert found.delivered[0] == pytest.approx((1 - 2 / 30) * (1 - 2 / 100), abs=0.01)
    assert found.network in ("shunt capacitor, series coil", "shunt coil, series capacitor")


def test_no_parts_where_there_is_nothing_to_match():
    found = matching.best_match(np.array([2.44e9]), np.array([50.0 + 1j]), 50.0)
    assert found.network == "no parts"
    assert found.delivered[0] == pytest.approx(1.0, abs=1e-3)


@given(st.floats(1.0, 500.0), st.floats(-500.0, 500.0), st.sampled_from([0.99, 1.0, 1.01]))
def test_a_network_gives_no_power(resistance, reactance, ratio):
    frequencies = np.array([0.98, 1.0, 1.02]) * 2.44e9
    antenna = resistance + 1j * reactance * np.array([1 / ratio, 1.0, ratio])
    found = matching.best_match(frequencies, antenna, 50.0)
    assert np.all(found.delivered <= found.accepted * (1.0 + 1e-9))
    assert np.all(found.accepted <= 1.0 + 1e-9)
    assert found.delivered.mean() >= matching.unmatched(antenna, 50.0).delivered.mean() - 1e-12
