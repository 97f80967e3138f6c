"""Metal: values that the trade recalls or that makers print."""

import math

import pytest

from linkbudget.enclosure.boxes import first_resonance_hz
from linkbudget.enclosure.geometry import Box, Metal, Opening, Plate
from linkbudget.enclosure.paths import metal_effect
from linkbudget.enclosure.plates import plane_detuning_db
from linkbudget.physics.antennas import HALF_WAVE_RESISTANCE_OHM, image_impedance_ohm
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
