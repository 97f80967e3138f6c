"""The same link over every value of a field of the scenario, or of two."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

from linkbudget import __version__
from linkbudget.core.errors import InputError, LinkbudgetError
from linkbudget.results import VariantLink, VariedField, VariedLink, VariedPoint, VaryResult
from linkbudget.scenario import (
    NO_RADIO,
    Scenario,
    Variation,
    Varied,
    load_scenario,
    load_varied,
    stated_text,
    variation,
)
from linkbudget.study.links import link_results

_IN_A_UNIT = re.compile(r"(?P<number>[+−-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(?P<unit>\D*)")


def vary(
    path: str | Path,
    fields: Sequence[str],
    values: Sequence[str],
    *,
    progress: Callable[[str], None] = lambda _step: None,
) -> VaryResult:
    """Answer the links of a scenario for every value of one field, or of two.

    Parameters
    ----------
    path : str or Path
        A scenario file, which stays as it is.
    fields, values : sequence of str
        As ``scenario.variation`` reads them, the first values for the first field.
    progress : callable
        Told each step in words.

    Returns
    -------
    VaryResult
        Every point; one that is refused says why.

    Raises
    ------
    InputError, InputErrors
        Where the scenario as it stands is wrong or has no radio, a field is no field of it, or a
        field refuses a value.
    """
    if len(fields) != len(values):
        found = f"{len(fields)} fields and {len(values)} lists of values"
        mend = "Write --field and --values once, and both again for a second field."
        raise InputError(found, "values for each field", mend)
    variations = [variation(*pair) for pair in zip(fields, values, strict=True)]
    points = load_varied(path, variations)
    names = _wireless(load_scenario(path), points)
    if not names:
        mend = "Give a variant a radio first."
        raise InputError("no variant with a radio", "a link to vary", mend, file=str(path))
    done = []
    for at, point in enumerate(points, start=1):
        progress(f"point {at} of {len(points)}: {', '.join(point.labels)}")
        done.append(VariedPoint(point.labels, _links(point, names)))
    return VaryResult(
        scenario_file=str(path),
        tool_version=__version__,
        product=load_scenario(path).product.name,
        fields=tuple(_field(path, at, one, points) for at, one in enumerate(variations)),
        points=tuple(done),
    )


def _wireless(stated: Scenario, points: Sequence[Varied]) -> dict[int, str]:
    """Return place and name of every variant that has a radio, as stated or at some point."""
    scenarios = [stated, *(point.scenario for point in points if point.scenario)]
    return {
        at: variant.name
        for at, variant in enumerate(stated.variants)
        if any(each.variants[at].radio != NO_RADIO for each in scenarios)
    }


def _links(point: Varied, names: dict[int, str]) -> tuple[VariedLink, ...]:
    refused = point.refused
    links: tuple[VariantLink, ...] = ()
    if point.scenario is not None:
        try:
            links = link_results(point.scenario, changes=False)
        except LinkbudgetError as error:
            refused = str(error)
    if refused:
        return tuple(VariedLink(name, refused) for name in names.values())
    return tuple(_link(name, links[at]) for at, name in names.items())


def _link(name: str, link: VariantLink) -> VariedLink:
    found = link.comparison
    if found is None:
        return VariedLink(name, link.absent_because)
    budget, reach, forecast = found.as_built
    return VariedLink(
        name,
        wanted_distance_m=link.wanted_distance_m,
        reliability=link.reliability,
        lost=found.lost_db,
        received=budget.received,
        margin=budget.margin,
        reach=reach.distance,
        chance=forecast.chance,
    )


def _field(path: str | Path, at: int, field: Variation, points: Sequence[Varied]) -> VariedField:
    """Return a field with its values, as numbers where all of them are numbers in one unit."""
    values = tuple(dict.fromkeys(point.labels[at] for point in points))
    stated = stated_text(path, field)
    matches = [_IN_A_UNIT.fullmatch(value) for value in values]
    found = [match for match in matches if match is not None]
    units = {match["unit"].strip() for match in found}
    if len(found) < len(values) or len(units) != 1:
        return VariedField(field.key, stated, values)
    numbers = tuple(float(match["number"].replace("−", "-")) for match in found)
    return VariedField(field.key, stated, values, numbers, units.pop())
