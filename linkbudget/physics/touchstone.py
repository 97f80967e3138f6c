"""What a Touchstone file says of an antenna, as a network analyser writes it."""

from __future__ import annotations

import io
import math
import re
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from linkbudget.core.decibels import REFERENCE_IMPEDANCE_OHM, FloatArray
from linkbudget.core.errors import InputError, OutOfRange

LARGEST_FILE_BYTES = 20_000_000
_SUFFIXES = (".s1p", ".s2p")
_EXPECTED = "a Touchstone file of one or two ports, with its option line such as '# GHz S RI R 50'"
# everything that the parser was seen to raise on broken text
_BROKEN = (
    ValueError,
    IndexError,
    KeyError,
    TypeError,
    AttributeError,
    EOFError,
    ArithmeticError,
    MemoryError,
    NotImplementedError,
    np.linalg.LinAlgError,
)


def worst_return_loss_db(path: Path | str, low_hz: float, high_hz: float) -> tuple[float, float]:
    """Return the smallest return loss at port 1 within a band.

    Parameters
    ----------
    path : path
        File with suffix ``.s1p`` or ``.s2p``; of two ports the first is the antenna and the second
        is terminated.
    low_hz, high_hz : float
        The band [Hz]; both edges count.

    Returns
    -------
    return_loss_db : float
        Smallest ``-20 log10 |S11|`` in the band, greater than zero [dB].
    at_hz : float
        Where it is smallest [Hz].

    Raises
    ------
    OutOfRange
        Where the file does not cover the band.
    InputError
        Where the file cannot be read or understood, or reflects more than it is sent.

    Notes
    -----
    S-parameters of another reference resistance are turned to 50 ohm. At an edge of the band that
    falls between two points, |S11| is interpolated in a straight line; between the points of a
    file nothing can be known, so a coarse sweep may hide a worse place.

    References
    ----------
    Touchstone File Format Specification, IBIS Open Forum, versions 1.1 and 2.0.
    """
    band = magnitudes_over_band(path, low_hz, high_hz)
    worst = int(np.argmax(band.reflection))
    # a perfect match has no finite return loss; 1e-6 is 120 dB, beyond any analyser
    return_loss_db = -20.0 * math.log10(max(float(band.reflection[worst]), 1e-6))
    return return_loss_db, float(band.frequency_hz[worst])


@dataclass(frozen=True, slots=True, eq=False)
class BandMagnitudes:
    """Magnitudes in 50 ohm over a band.

    Parameters
    ----------
    frequency_hz : array, shape (n,)
        Both edges of the band and the points between, rising [Hz].
    reflection : array, shape (n,)
        ``|S11|``, below 1 [1].
    transmission : array, shape (n,), or None
        ``|S21|`` [1]; None where the file has one port.
    measured_hz : array
        The file's own points within the band [Hz].
    """

    frequency_hz: FloatArray
    reflection: FloatArray
    transmission: FloatArray | None
    measured_hz: FloatArray


def magnitudes_over_band(path: Path | str, low_hz: float, high_hz: float) -> BandMagnitudes:
    """Return what is reflected at port 1 and what reaches port 2, over a band.

    Parameters
    ----------
    path : path
        File with suffix ``.s1p`` or ``.s2p``.
    low_hz, high_hz : float
        The band [Hz].

    Returns
    -------
    BandMagnitudes
        At an edge of the band that falls between two points, interpolated in a straight line.

    Raises
    ------
    OutOfRange
        Where the file does not cover the band.
    InputError
        Where the file cannot be read or understood, or reflects more than it is sent.
    """
    frequency_hz, magnitudes = _magnitudes(Path(path))
    first, last = float(frequency_hz[0]), float(frequency_hz[-1])
    for edge in (low_hz, high_hz):
        if not first <= edge <= last:
            raise OutOfRange(
                "S-parameters are needed at frequency (Hz)",
                edge,
                first,
                last,
                "Sweep the antenna over its whole band; nothing is extrapolated.",
                file=str(path),
            )
    inside = frequency_hz[(frequency_hz > low_hz) & (frequency_hz < high_hz)]
    points_hz = np.concatenate(([low_hz], inside, [high_hz]))
    reflection, *others = (np.interp(points_hz, frequency_hz, each) for each in magnitudes)
    worst = int(np.argmax(reflection))
    if not reflection[worst] < 1.0:
        raise InputError(
            f"|S11| of {reflection[worst]:.3f} at {points_hz[worst]:g} Hz",
            "less than 1: an antenna reflects less than it is sent",
            "Check the calibration of the analyser and the port.",
            file=str(path),
        )
    measured_hz = frequency_hz[(frequency_hz >= low_hz) & (frequency_hz <= high_hz)]
    return BandMagnitudes(points_hz, reflection, others[0] if others else None, measured_hz)


def _magnitudes(path: Path) -> tuple[FloatArray, list[FloatArray]]:
    """Return frequency [Hz], and |S11| and where there is one |S21|, in 50 ohm, all (n,)."""
    from skrf import Network

    stream = io.StringIO(_text(path))
    stream.name = path.name  # the parser takes the number of ports from the suffix
    try:
        with np.errstate(all="ignore"), warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what matters is checked below, and told
            network = Network()
            network.read_touchstone(stream)
            network.renormalize(REFERENCE_IMPEDANCE_OHM)
            frequency_hz = np.asarray(network.f, dtype=float)
            rows = min(network.s.shape[1], 2)
            magnitudes = [np.abs(network.s[:, row, 0]).astype(float) for row in range(rows)]
    except _BROKEN as error:
        raise InputError(
            f"a file that does not parse ({error})", _EXPECTED, file=str(path)
        ) from None
    if frequency_hz.size == 0:
        raise InputError("no data lines", _EXPECTED, file=str(path))
    finite = all(np.all(np.isfinite(values)) for values in (frequency_hz, *magnitudes))
    if not finite or np.any(np.diff(frequency_hz) <= 0.0):
        raise InputError(
            "values that are not numbers, or frequencies that do not rise",
            "finite values at strictly rising frequencies",
            file=str(path),
        )
    return frequency_hz, magnitudes


def _text(path: Path) -> str:
    """Read the file as text, and refuse what cannot be a Touchstone file before it is parsed."""
    if path.suffix.lower() not in _SUFFIXES:
        found = f"suffix '{path.suffix}'"
        raise InputError(found, "a file ending in .s1p or .s2p", file=str(path))
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE_BYTES + 1)
    except OSError as error:
        found = f"a file that cannot be read ({error.strerror})"
        raise InputError(found, "a readable Touchstone file", file=str(path)) from None
    if len(raw) > LARGEST_FILE_BYTES:
        found = f"more than {LARGEST_FILE_BYTES // 1_000_000} MB"
        raise InputError(found, _EXPECTED, "Export fewer points.", file=str(path))
    if b"\0" in raw:
        raise InputError("a binary file", _EXPECTED, "Export as Touchstone text.", file=str(path))
    text = raw.decode("utf-8-sig", errors="replace")
    if not re.search(r"^\s*#", text, re.MULTILINE):
        raise InputError("no option line", _EXPECTED, file=str(path))
    ports = re.search(r"^\s*\[number of ports\]\s*(\S+)", text, re.MULTILINE | re.IGNORECASE)
    if ports and ports[1] not in ("1", "2"):
        raise InputError(f"{ports[1][:20]} ports", "one or two ports", file=str(path))
    return text
