"""What a solve says: impedance across the band, the pattern, and how sure two meshes are."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.fullwave.matching import ComplexArray
from linkbudget.enclosure.fullwave.sides import Side, decibels, side_mean
from linkbudget.enclosure.geometry import Scene

METHOD = "method of moments on a wire grid, perfect conductors"
COVERAGE = "difference of two meshes, at least {:g} dB"
MEAN_FLOOR_DB, DIRECTION_FLOOR_DB = 0.3, 1.0
"""Least uncertainty of a mean over directions and of one direction [dB]: what separates this method
from finite differences in time on the reference cases of the tests."""

BALANCE_DB = 0.2
"""How far radiated and accepted power may differ before a caution says so [dB]."""


@dataclass(frozen=True, slots=True)
class MeshSolution:
    """One mesh's answer.

    Parameters
    ----------
    cell_m : float
        Cell of its grids [m].
    segments : int
        Number of unknowns.
    impedance_ohm : array
        Of the antenna without its loss resistance, at each frequency of the sweep; its resistance
        is that of the radiated power [ohm].
    gain : array, theta x phi
        Directivity at the middle of the band, both polarisations together [1].
    power_balance_db : float
        Radiated over accepted power before that correction [dB]; 0 is perfect.

    Notes
    -----
    Where the antenna lies close to metal its resistance is a few ohm, and a small error of the
    reactive field near the feed is a large one of the accepted power. The field far away is not
    touched by that: so the radiated power, the integral of the pattern, defines the resistance.
    """

    cell_m: float
    segments: int
    impedance_ohm: ComplexArray
    gain: FloatArray
    power_balance_db: float


@dataclass(frozen=True, slots=True)
class Port:
    """How the free antenna, without the metal, is fed, tuned and how lossy it is.

    Parameters
    ----------
    source_ohm : float
        Source that is matched to the free antenna in the middle of the band [ohm].
    loss_ohm : float
        Fixed resistance in series with the feed, from the stated efficiency [ohm].
    tuning_ohm : float
        Reactance in series that cancels the free antenna's in the middle of the band [ohm]; a coil
        where positive, a capacitor where negative, its loss part of the stated efficiency.
    """

    source_ohm: float
    loss_ohm: float
    tuning_ohm: float

    def impedance_ohm(self, radiator_ohm: ComplexArray, frequencies_hz: FloatArray) -> ComplexArray:
        """Return what the source sees: radiator, loss and tuning in series [ohm]."""
        ratio = frequencies_hz / frequencies_hz[len(frequencies_hz) // 2]
        tuning = self.tuning_ohm * (ratio if self.tuning_ohm > 0.0 else 1.0 / ratio)
        seen: ComplexArray = radiator_ohm + self.loss_ohm + 1j * tuning
        return seen


def port_of(free: MeshSolution, efficiency: float) -> Port:
    """Return the port that suits a free antenna of a stated efficiency [1].

    Notes
    -----
    ``efficiency = R / (R + loss)`` with the radiation resistance ``R`` of the free antenna.
    """
    middle = complex(free.impedance_ohm[len(free.impedance_ohm) // 2])
    loss_ohm = middle.real * (1.0 - efficiency) / efficiency
    return Port(middle.real + loss_ohm, loss_ohm, -middle.imag)


@dataclass(frozen=True, slots=True)
class FieldSolution:
    """An antenna where it stands, with its board and its metal.

    Parameters
    ----------
    scene : Scene
    frequencies_hz : array
        Across the band, odd in number, the middle one in the middle [Hz].
    coarse, fine : MeshSolution
        Two meshes; values come from the fine one.
    coarse_port, fine_port : Port
        Of the antenna without the metal, on the same meshes.
    cautions : tuple of str
    """

    scene: Scene
    frequencies_hz: FloatArray
    coarse: MeshSolution
    fine: MeshSolution
    coarse_port: Port
    fine_port: Port
    cautions: tuple[str, ...]

    @property
    def impedance_ohm(self) -> ComplexArray:
        """Feed impedance with the loss resistance, untuned, at each frequency [ohm]."""
        impedance: ComplexArray = self.fine.impedance_ohm + self.fine_port.loss_ohm
        return impedance

    @property
    def port_impedance_ohm(self) -> ComplexArray:
        """What the source sees behind the free antenna's tuning, at each frequency [ohm]."""
        return self.fine_port.impedance_ohm(self.fine.impedance_ohm, self.frequencies_hz)

    @property
    def gain_dbi(self) -> FloatArray:
        """Gain over accepted power at the middle of the band, theta x phi [dBi]."""
        gain: FloatArray = 10.0 * np.log10(np.maximum(self.fine.gain * self.radiated_share, 1e-30))
        return gain

    @property
    def radiated_share(self) -> float:
        """Radiated over accepted power at the middle of the band [1]."""
        return float(shares_radiated(self.fine, self.fine_port)[len(self.frequencies_hz) // 2])

    def directivity(self, side: Side) -> Quantity:
        """Return the mean directivity over a side [dBi], as if re-matched without loss."""
        return self.measured(lambda mesh, _: decibels(side_mean(mesh.gain, side)), "dBi")

    @property
    def directivity_above(self) -> Quantity:
        """Directivity straight up, behind the sheet [dBi]."""
        return self.measured(lambda mesh, _: _up(mesh), "dBi", DIRECTION_FLOOR_DB)

    @property
    def directivity_below(self) -> Quantity:
        """Directivity straight down [dBi]."""
        return self.measured(
            lambda mesh, _: decibels(float(mesh.gain[-1].mean())), "dBi", DIRECTION_FLOOR_DB
        )

    @property
    def directivity_max(self) -> Quantity:
        """Largest directivity of all directions [dBi]."""
        return self.measured(lambda mesh, _: decibels(float(mesh.gain.max())), "dBi")

    def measured(
        self,
        of: Callable[[MeshSolution, Port], float],
        unit: str = "dB",
        floor_db: float = MEAN_FLOOR_DB,
    ) -> Quantity:
        """Return a value of the fine mesh with the difference of the two as its band."""
        return two_mesh_quantity(
            of(self.coarse, self.coarse_port), of(self.fine, self.fine_port), unit, floor_db
        )


def two_mesh_quantity(
    coarse: float, fine: float, unit: str = "dB", floor_db: float = MEAN_FLOOR_DB
) -> Quantity:
    """Return the fine mesh's value, either way the difference to the coarse one's.

    Examples
    --------
    >>> two_mesh_quantity(-7.0, -7.5).band
    (-8.0, -7.0)
    """
    half = max(floor_db, abs(fine - coarse))
    coverage = COVERAGE.format(floor_db)
    return Quantity(fine, unit, "computed", fine - half, fine + half, METHOD, coverage)


def shares_radiated(mesh: MeshSolution, port: Port) -> FloatArray:
    """Return radiated over accepted power at each frequency [1]."""
    resistance = mesh.impedance_ohm.real
    shares: FloatArray = resistance / (resistance + port.loss_ohm)
    return shares


def balanced(
    cell_m: float, segments: int, impedance_ohm: ComplexArray, power_gain: FloatArray
) -> MeshSolution:
    """Return a mesh's answer with its resistance and its pattern put on radiated power.

    Parameters
    ----------
    cell_m : float
        [m]
    segments : int
    impedance_ohm : array
        As the solver's feed current says [ohm].
    power_gain : array, theta x phi
        Over the accepted power that the feed current says [1].
    """
    radiated = side_mean(power_gain, "anywhere")
    resistance = impedance_ohm.real * radiated
    return MeshSolution(
        cell_m,
        segments,
        resistance + 1j * impedance_ohm.imag,
        power_gain / radiated,
        10.0 * math.log10(radiated),
    )


def _up(mesh: MeshSolution) -> float:
    return decibels(float(mesh.gain[0].mean()))
