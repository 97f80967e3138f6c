"""The antenna with the metal against the same antenna without: as is, and re-matched."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.fullwave.matching import ComplexArray, Matched, best_match, unmatched
from linkbudget.enclosure.fullwave.sides import Side, decibels, side_mean, side_quantiles
from linkbudget.enclosure.fullwave.solution import (
    DIRECTION_FLOOR_DB,
    MEAN_FLOOR_DB,
    FieldSolution,
    MeshSolution,
    Port,
    two_mesh_quantity,
)

Match = Literal["as is", "re-matched"]

_BAND_POINTS = 21
_MOST_IN_ONE = 5  # points of the sweep that one polynomial passes through


@dataclass(frozen=True, slots=True)
class LossSplit:
    """Where the power toward a side is lost; the three add up to the whole loss, in dB.

    Parameters
    ----------
    detuning : Quantity
        By mismatch between source and antenna, or its matching network [dB].
    dissipation : Quantity
        In the antenna's loss resistance and the matching parts, beyond the free antenna's [dB].
    shadow : Quantity
        By redirection to other sides [dB]; negative where the metal sends more here.
    """

    detuning: Quantity
    dissipation: Quantity
    shadow: Quantity


@dataclass(frozen=True, slots=True)
class Spread:
    """Gain over the directions of a side, by share of its solid angle.

    Parameters
    ----------
    low, middle, high : Quantity
        What 10, 50 and 90 % of the directions stay under, in `unit` of each.
    """

    low: Quantity
    middle: Quantity
    high: Quantity


@dataclass(frozen=True)
class FieldComparison:
    """What the metal changes, for a source matched to the antenna without it.

    Every change is a gain in dB: negative where the metal weakens. "as is" holds for the middle of
    the band; "re-matched" is a mean over the band with the best network of two lossy parts, against
    the free antenna's mean over the band.

    Parameters
    ----------
    with_metal, without_metal : FieldSolution
    """

    with_metal: FieldSolution
    without_metal: FieldSolution

    @property
    def cautions(self) -> tuple[str, ...]:
        """What limits both solutions, each said once."""
        return tuple(dict.fromkeys((*self.with_metal.cautions, *self.without_metal.cautions)))

    def total_radiated(self, match: Match = "as is") -> Quantity:
        """Return the change of the power radiated in all directions [dB]."""
        return self.mean_gain("anywhere", match)

    def mean_gain(self, side: Side, match: Match = "as is") -> Quantity:
        """Return the change of the mean gain over a side [dB]."""
        return self._change(lambda mesh, power: power.radiated * side_mean(mesh.gain, side), match)

    def gain_above(self, match: Match = "as is") -> Quantity:
        """Return the change of the gain straight up, behind the sheet [dB]."""
        return self._change(
            lambda mesh, power: power.radiated * float(mesh.gain[0].mean()),
            match,
            DIRECTION_FLOOR_DB,
        )

    def spread(self, side: Side, match: Match = "as is") -> Spread:
        """Return the gain over a side's directions, against the free antenna's mean there [dB]."""
        quantities = []
        for number in range(3):
            pairs = [
                decibels(power.radiated * side_quantiles(mesh.gain, side)[number])
                - decibels(free_power.radiated * side_mean(free.gain, side))
                for (mesh, power), (free, free_power) in self._meshes(match)
            ]
            quantities.append(two_mesh_quantity(pairs[0], pairs[1], floor_db=DIRECTION_FLOOR_DB))
        return Spread(*quantities)

    def radiated_of_available(self, match: Match = "as is") -> Quantity:
        """Return the radiated power over the power that the source could give [dB]."""
        pairs = [decibels(power.radiated) for (_, power), _ in self._meshes(match)]
        return two_mesh_quantity(pairs[0], pairs[1])

    def split(self, side: Side, match: Match = "as is") -> LossSplit:
        """Return where the power toward a side is lost [dB]."""
        return LossSplit(
            detuning=self._change(lambda _, power: power.accepted, match).negated(),
            dissipation=self._change(
                lambda _, power: power.radiated / power.accepted, match
            ).negated(),
            shadow=self._change(lambda mesh, _: side_mean(mesh.gain, side), match).negated(),
        )

    @property
    def frequencies_hz(self) -> FloatArray:
        """Frequencies of ``accepted_share`` [Hz]."""
        swept = self.with_metal.frequencies_hz
        return np.linspace(swept[0], swept[-1], _BAND_POINTS if len(swept) > 1 else 1)

    def accepted_share(self, match: Match = "as is") -> FloatArray:
        """Return the share of the source's power that the antenna takes, across the band [1]."""
        _, fine = self._matched(match)
        return fine.delivered

    @property
    def network(self) -> str:
        """The parts of the re-matching network, in words."""
        return self._matched("re-matched")[1].network

    def _change(
        self,
        of: Callable[[MeshSolution, _Power], float],
        match: Match,
        floor_db: float = MEAN_FLOOR_DB,
    ) -> Quantity:
        pairs = [
            decibels(of(mesh, power)) - decibels(of(free, free_power))
            for (mesh, power), (free, free_power) in self._meshes(match)
        ]
        return two_mesh_quantity(pairs[0], pairs[1], floor_db=floor_db)

    def _meshes(self, match: Match) -> _Meshes:
        """Return mesh and power with and without the metal, coarse then fine."""
        return self._meshes_as_is if match == "as is" else self._meshes_rematched

    @cached_property
    def _meshes_as_is(self) -> _Meshes:
        return self._powered("as is")

    @cached_property
    def _meshes_rematched(self) -> _Meshes:
        return self._powered("re-matched")

    def _powered(self, match: Match) -> _Meshes:
        metal, free = self.with_metal, self.without_metal
        pairs = []
        for mesh, port, free_mesh, matched in (
            (metal.coarse, metal.coarse_port, free.coarse, self._matched(match)[0]),
            (metal.fine, metal.fine_port, free.fine, self._matched(match)[1]),
        ):
            free_matched = unmatched(self._seen(free_mesh, port), port.source_ohm)
            over_band = match == "re-matched"
            pairs.append(
                (
                    (mesh, self._power(mesh, port, matched, over_band=over_band)),
                    (free_mesh, self._power(free_mesh, port, free_matched, over_band=over_band)),
                )
            )
        return pairs

    def _matched(self, match: Match) -> tuple[Matched, Matched]:
        return self._as_is if match == "as is" else self._rematched

    @cached_property
    def _as_is(self) -> tuple[Matched, Matched]:
        coarse, fine = self._ports_seen()
        return unmatched(*coarse), unmatched(*fine)

    @cached_property
    def _rematched(self) -> tuple[Matched, Matched]:
        coarse, fine = self._ports_seen()
        return best_match(self.frequencies_hz, *coarse), best_match(self.frequencies_hz, *fine)

    def _ports_seen(self) -> tuple[tuple[ComplexArray, float], tuple[ComplexArray, float]]:
        metal = self.with_metal
        return (
            (self._seen(metal.coarse, metal.coarse_port), metal.coarse_port.source_ohm),
            (self._seen(metal.fine, metal.fine_port), metal.fine_port.source_ohm),
        )

    def _seen(self, mesh: MeshSolution, port: Port) -> ComplexArray:
        return port.impedance_ohm(self._over_band(mesh.impedance_ohm), self.frequencies_hz)

    def _over_band(self, values: ComplexArray) -> ComplexArray:
        """Interpolate what is smooth, impedance, before what is not, the match."""
        swept = self.with_metal.frequencies_hz
        if len(swept) == 1:
            return values
        if len(swept) > _MOST_IN_ONE:  # a polynomial of higher degree swings between its points
            straight: ComplexArray = np.interp(self.frequencies_hz, swept, values)
            return straight
        course = np.polynomial.Polynomial.fit(swept, values, len(swept) - 1)
        return np.asarray(course(self.frequencies_hz), dtype=np.complex128)

    def _power(
        self, mesh: MeshSolution, port: Port, matched: Matched, *, over_band: bool
    ) -> _Power:
        resistance = self._over_band(mesh.impedance_ohm).real
        radiated = matched.delivered * resistance / (resistance + port.loss_ohm)
        if over_band:
            return _Power(float(matched.accepted.mean()), float(radiated.mean()))
        middle = len(radiated) // 2
        return _Power(float(matched.accepted[middle]), float(radiated[middle]))


@dataclass(frozen=True, slots=True)
class _Power:
    """Shares of the power that the source could give [1]."""

    accepted: float
    radiated: float


_Meshes = list[tuple[tuple[MeshSolution, _Power], tuple[MeshSolution, _Power]]]
