"""The one conductor: a scenario in, results out; no formula, no formatting."""

from __future__ import annotations

from collections.abc import Callable

from linkbudget import __version__
from linkbudget.core.errors import InputError
from linkbudget.decision.booking import Advice, advise, advise_variant
from linkbudget.emissions.limits import LimitLine, all_lines
from linkbudget.results import EmissionsResult, Product, StudyResult, VariantLink
from linkbudget.scenario import Scenario
from linkbudget.study import told
from linkbudget.study.bare import study_bare_scan
from linkbudget.study.links import link_results
from linkbudget.study.prescans import emission_results

__all__ = [
    "held_lines",
    "study",
    "study_bare_scan",
    "worst_emission_margin_db",
    "worst_link_margin_db",
]


def _silent(_step: str) -> None:
    """Tell nobody."""


def study(
    scenario: Scenario,
    *,
    link: bool = True,
    emissions: bool = True,
    refuse: bool = False,
    progress: Callable[[str], None] = _silent,
) -> StudyResult:
    """Answer a scenario.

    Parameters
    ----------
    scenario : Scenario
        As loaded and checked.
    link, emissions : bool
        Which questions to answer; the advice needs the emissions.
    refuse : bool
        Raise where a link cannot be judged, instead of saying so in its variant.
    progress : callable
        Told each step in words.

    Returns
    -------
    StudyResult

    Raises
    ------
    LinkbudgetError
        Where the scenario's files or figures do not suffice.
    """
    links: tuple[VariantLink, ...] = ()
    if link:
        progress("computing the link and the metal")
        links = link_results(scenario, refuse=refuse, progress=progress)
    found = None
    if emissions:
        progress(f"reading {len(scenario.scans)} pre-scans")
        found = emission_results(scenario)
    progress("weighing")
    return StudyResult(
        scenario_file=str(scenario.source_file),
        tool_version=__version__,
        product=_product(scenario),
        links=links,
        emissions=found,
        advice=_advice(found) if found is not None else None,
        booking=told.booking_facts(scenario.booking),
        unstated=told.unstated(scenario, links, found),
        sources=told.sources(scenario, links, found),
        cautions=told.cautions(scenario, links, found),
    )


def _product(scenario: Scenario) -> Product:
    product = scenario.product
    names = tuple(variant.name for variant in scenario.variants)
    return Product(product.name, product.description or "", product.family, names)


def _advice(found: EmissionsResult) -> Advice:
    weighed = [advise_variant(one.variant, one.standings) for one in found.variants]
    return advise(weighed, no_line_because=found.no_line_because)


def held_lines(equipment_class: str = "") -> tuple[LimitLine, ...]:
    """Return every limit line held, or those of one class.

    Raises
    ------
    InputError
        Where no line of that class is held.
    """
    letter = equipment_class.upper()
    found = tuple(line for line in all_lines() if letter in ("", line.equipment_class))
    if not found:
        raise InputError(repr(equipment_class), '"A" or "B"', field="--class")
    return found


def worst_link_margin_db(result: StudyResult) -> float | None:
    """Return the smallest link margin of all variants [dB], with metal.

    None without a link, and where a link is wanted further than the law of its room is believed.
    """
    judged = [one for one in result.links if one.comparison is not None]
    if any(one.room and one.wanted_distance_m > one.room.believed_to_m for one in judged):
        return None
    margins = [
        (one.comparison.with_metal or one.comparison.without).margin.value
        for one in result.links
        if one.comparison is not None
    ]
    return min(margins, default=None)


def worst_emission_margin_db(result: StudyResult) -> float | None:
    """Return the smallest margin to any required line [dB]; None where one is not measured.

    A bare scan answers for the lines that it reaches into, a scenario for every line it requires.
    """
    if result.emissions is None:
        return None
    rows = [row for one in result.emissions.variants for row in one.standings if row.required]
    if result.advice is None:
        rows = [row for row in rows if row.compared]
    if any(row.standing == "not measured" for row in rows):
        return None
    return min(
        (row.worst.worst_margin.value for row in rows if row.worst is not None), default=None
    )
