"""Harmonics of the product's own clocks that fall into a channel of its radio."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from linkbudget.physics.validity import require_positive, require_within


@dataclass(frozen=True, slots=True)
class HarmonicInChannel:
    """A harmonic that may lie in a channel.

    Parameters
    ----------
    clock_hz : float
        Nominal frequency of the clock [Hz].
    number : int
        Which harmonic; one is the clock itself.
    frequency_hz : float
        Nominal frequency of the harmonic [Hz].
    channel : int
        Index of the channel, counted from zero in the order given.
    always : bool
        Whether it lies inside at every tolerance, and not at some alone.
    """

    clock_hz: float
    number: int
    frequency_hz: float
    channel: int
    always: bool


def harmonics_in_channels(
    clocks_hz: Sequence[float],
    tolerance_ppm: float,
    channels_hz: Sequence[float],
    channel_bandwidth_hz: float,
) -> tuple[HarmonicInChannel, ...]:
    """Return every harmonic that reaches a channel within the tolerance of its clock.

    Parameters
    ----------
    clocks_hz : sequence of float
        Nominal frequencies of the clocks [Hz].
    tolerance_ppm : float
        Tolerance of each clock, to either side, with temperature and ageing; 0 to 100 000 [ppm].
    channels_hz : sequence of float
        Centres of the radio's channels [Hz].
    channel_bandwidth_hz : float
        Width of a channel, centred on it [Hz].

    Returns
    -------
    tuple of HarmonicInChannel
        By clock, then channel, then number. The same harmonic may reach several channels.

    Raises
    ------
    InputError, OutOfRange
        Where a frequency or the width is not greater than zero, or the tolerance is beyond range.

    Notes
    -----
    Where a harmonic may lie, not how strong it is. The n-th harmonic moves n times as far as its
    clock; a spread-spectrum clock counts with its whole spread as tolerance.

    Examples
    --------
    >>> [hit] = harmonics_in_channels([48e6], 50.0, [2.448e9, 2.450e9], 1e6)
    >>> hit.number, hit.frequency_hz, hit.channel, hit.always
    (51, 2448000000.0, 0, True)
    """
    require_within("tolerance of a clock (ppm)", tolerance_ppm, 0.0, 1e5)
    require_positive("width of a channel (Hz)", channel_bandwidth_hz)
    for frequency_hz in (*clocks_hz, *channels_hz):
        require_positive("frequency of a clock or channel (Hz)", frequency_hz)
    return tuple(
        hit
        for clock_hz in clocks_hz
        for index, centre_hz in enumerate(channels_hz)
        for hit in _in_channel(
            clock_hz, tolerance_ppm * 1e-6, index, centre_hz, channel_bandwidth_hz
        )
    )


def _in_channel(
    clock_hz: float, tolerance: float, index: int, centre_hz: float, width_hz: float
) -> list[HarmonicInChannel]:
    low_hz, high_hz = centre_hz - 0.5 * width_hz, centre_hz + 0.5 * width_hz
    slowest_hz, fastest_hz = clock_hz * (1.0 - tolerance), clock_hz * (1.0 + tolerance)
    first = max(1, math.ceil(low_hz / fastest_hz))
    last = math.floor(high_hz / slowest_hz)
    return [
        HarmonicInChannel(
            clock_hz,
            number,
            number * clock_hz,
            index,
            always=low_hz <= number * slowest_hz and number * fastest_hz <= high_hz,
        )
        for number in range(first, last + 1)
    ]
