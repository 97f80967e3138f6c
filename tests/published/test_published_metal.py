"""Metal: values that the trade recalls or that makers print."""

import math

import pytest

from linkbudget.enclosure.boxes import first_resonance_hz
from linkbudget.enclosure.geometry import Box, Metal, Opening, Plate
from linkbudget.enclosure.paths import metal_effect
from linkbudget.enclosure.plate_shares import plane_detuning_db
from linkbudget.physics.antennas import HALF_WAVE_RESISTANCE_OHM, image_impedance_ohm
from linkbudget.physics.cavity import cavity_modes
from linkbudget.physics.openings import normal_cross_section_m2, slot_impedance_ohm
from linkbudget.physics.propagation import wavelength_m

ALUMINIUM = Metal("aluminium", 3.5e7)
FREQUENCY_HZ = 2.44e9


@pytest.mark.published(
    source="Robinson et al., IEEE Transactions on EMC 40(3), 1998, box 300 x 120 x 300 mm",
    where="first resonance of the enclosure",
    from_memory=True,
)
def test_first_resonance_of_the_300_mm_box(printed):
    box = Box(0.300, 0.120, 0.300, 0.0015, ALUMINIUM, (Opening("slot", 0.1, 0.005),))
    assert first_resonance_hz(box) / 1e6 == printed("706.6")


@pytest.mark.published(
    source="Robinson et al., IEEE Transactions on EMC 40(3), 1998, box 300 x 120 x 300 mm",
    where="name of the first resonance",
    from_memory=True,
)
def test_first_resonance_of_the_300_mm_box_is_called_te101(printed):
    first, *_ = cavity_modes((0.300, 0.120, 0.300), 0.0, 1e9)
    assert first.name == "TE101"
    assert first.frequency_hz / 1e6 == printed("706.6")


@pytest.mark.published(
    source="C. A. Balanis, Antenna Theory, Babinet's principle",
    where="thin half-wave slot, 363 - j 211 ohm against 73 + j 42.5 ohm of the dipole",
    from_memory=True,
)
def test_impedance_of_a_thin_half_wave_slot(printed):
    slot_ohm = slot_impedance_ohm(0.5, 1e-7, 299_792_458.0)
    assert slot_ohm.real == printed("363")
    assert slot_ohm.imag == printed("-211")


@pytest.mark.published(
    source="H. A. Bethe, Theory of Diffraction by Small Holes, Physical Review 66, 1944",
    where="cross-section 64 k^4 r^6 / (27 pi) at normal incidence",
    from_memory=True,
)
def test_small_round_hole_has_the_cross_section_of_bethe(printed):
    # k = 2 pi / 300 mm, r = 3 mm: 64 (20.944)^4 (0.003)^6 / (27 pi) = 1.0585e-10 m2
    area_m2 = normal_cross_section_m2("round", 0.006, 0.006, 299_792_458.0 / 0.3)
    assert area_m2 * 1e10 == printed("1.06")


@pytest.mark.published(
    source="Antenna texts, gain of a half-wave dipole 1.64, doubled by the wall",
    where="effective area 2 x 1.64 wavelength^2 / (4 pi) = 0.261 wavelength^2",
    from_memory=True,
)
def test_resonant_slot_passes_what_an_antenna_of_its_gain_takes(printed):
    # at the length at which the thin slot is real
    lengths = [0.46 + 0.0005 * step for step in range(81)]
    areas = [normal_cross_section_m2("slot", one, 1e-4, 299_792_458.0) for one in lengths]
    assert max(areas) == printed("0.26")
    assert math.isclose(lengths[areas.index(max(areas))], 0.48, abs_tol=0.01)


@pytest.mark.published(
    source="Half-wave dipole a quarter wavelength from a large plane reflector, antenna texts",
    where="gain about 7.5 dBi",
    from_memory=True,
)
def test_image_raises_the_gain_by_6_db(printed):
    # a quarter wavelength under the plane, straight down: direct and reflected field are in phase,
    # so at the same current the power is four times that of the dipole alone; the feed resistance
    # then says how much of it is gain and how much is power taken
    depth_m = wavelength_m(FREQUENCY_HZ) / 4.0
    resistance_ohm = image_impedance_ohm(depth_m, FREQUENCY_HZ).real
    gain_db = 10.0 * math.log10(4.0 * HALF_WAVE_RESISTANCE_OHM / resistance_ohm)
    told = metal_effect(
        Plate(0.18, 0.12, 0.0015, ALUMINIUM, 0.012, 0.06), FREQUENCY_HZ, "below"
    ).largest_gain
    assert gain_db == printed("5.3")  # 7.5 dBi against 2.15 dBi
    assert told.low <= gain_db <= told.high


@pytest.mark.published(
    source="Makers of 2.4 GHz modules, data sheets",
    where="keep metal at least 10 mm from the antenna; 8 mm to a metal case",
    practice=True,
)
def test_detuning_is_bearable_at_the_clearance_that_makers_ask_for():
    # "bearable": within the 3 dB that halve the power; half that clearance must not be
    assert plane_detuning_db(0.010, FREQUENCY_HZ) < 3.0
    assert plane_detuning_db(0.005, FREQUENCY_HZ) > 6.0


@pytest.mark.published(
    source="Trade advice on 2.4 GHz antennas in aluminium boxes",
    where="the length of a gap counts, 61 mm is half a wavelength; the width hardly matters",
    practice=True,
)
def test_length_of_a_gap_counts_and_width_hardly():
    def loss_db(length_m, width_m):
        box = Box(0.2, 0.12, 0.025, 0.001, ALUMINIUM, (Opening("slot", length_m, width_m),))
        return metal_effect(box, FREQUENCY_HZ, "anywhere").total.value

    by_length = [loss_db(length_m, 0.001) for length_m in (0.02, 0.03, 0.04, 0.061)]
    assert by_length == sorted(by_length, reverse=True)
    assert by_length[0] - by_length[-1] > 25.0
    assert abs(loss_db(0.061, 0.001) - loss_db(0.061, 0.0035)) < 1.0
