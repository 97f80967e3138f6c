"""One self-contained HTML page: the answer first, then figures, tables, gaps, sources, cautions."""

from __future__ import annotations

import re
from collections.abc import Sequence
from importlib import resources
from typing import TYPE_CHECKING

from linkbudget.core.quantity import KIND_MEANING
from linkbudget.report import (
    bounds,
    certainty,
    field_rows,
    figures,
    forecast_rows,
    gathered,
    range_answer,
    rows,
    scans_answer,
    wording,
)
from linkbudget.report.drawings import Drawing, link_and_scan_drawings
from linkbudget.report.metal_pictures import metal_pictures
from linkbudget.report.palette import PALETTE, style_variables

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

    from linkbudget.results import StudyResult


def render_page(study: StudyResult) -> str:
    """Render a study as one HTML file that needs nothing else, not even a network.

    Parameters
    ----------
    study : StudyResult
        Whole or partial; a part that was not asked for is left out.

    Returns
    -------
    str
        The page, plotly's script included once.
    """
    metal = metal_pictures(study)
    of_metal = (drawing for picture in metal for drawing in picture.drawings)
    return rendered(
        "page.html",
        (*link_and_scan_drawings(study), *of_metal),
        study.tool_version,
        study=study,
        metal_pictures=metal,
        has_tables=_has_tables(study),
        kinds=KIND_MEANING,
    )


def rendered(template: str, drawings: Sequence[Drawing], tool_version: str, **parts: object) -> str:
    """Render a template of this package into one file with its style and its scripts.

    Parameters
    ----------
    template : str
        A file in ``templates``.
    drawings : sequence of Drawing
        Every figure of the page; without any, plotly stays out.
    tool_version : str
    **parts : object
        What the template names.
    """
    from markupsafe import Markup

    figure_data = {
        "swap": dict(PALETTE.values()),
        "paper": PALETTE["paper"][0],
        "drawings": {
            d.anchor: {"data": d.spec["data"], "layout": d.spec["layout"], "zoomable": d.zoomable}
            for d in drawings
        },
    }
    return str(
        _environment()
        .get_template(template)
        .render(
            parts,
            tool_version=tool_version,
            drawings={d.anchor: d for d in drawings},
            figure_data=figure_data,
            light=Markup(style_variables("light")),  # noqa: S704 -- our own palette
            dark=Markup(style_variables("dark")),  # noqa: S704 -- our own palette
            style=Markup(_template_text("page.css")),  # noqa: S704 -- a file of this package
            script=Markup(_template_text("page.js")),  # noqa: S704 -- a file of this package
            plotly=Markup(figures.plotly_script()) if drawings else "",  # noqa: S704 -- plotly's own
        )
    )


def _has_tables(study: StudyResult) -> bool:
    emissions = study.emissions
    has_links = any(link.comparison or range_answer.is_refused(link) for link in study.links)
    has_lines = emissions is not None and bool(emissions.variants or emissions.scans)
    return has_links or has_lines or bool(study.booking.facts)


def _template_text(name: str) -> str:
    return resources.files("linkbudget.report").joinpath("templates", name).read_text("utf-8")


def _breakable(key: str) -> Markup:
    """Let a key break after dots and underscores, by nothing that a copy would keep."""
    from markupsafe import Markup

    parts = re.split(r"(?<=[._])", key)
    return Markup("<wbr>").join(parts)


def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("linkbudget.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "amount": lambda quantity: wording.typeset(wording.amount(quantity)),
        "band": lambda quantity: wording.typeset(wording.band(quantity)),
        "area": lambda area_m2: wording.typeset(wording.area(area_m2)),
        "percent": lambda share: wording.typeset(wording.percent(share)),
        "decimal": lambda value: wording.typeset(wording.number(value)),
        "metres": lambda distance_m: wording.typeset(wording.metres(distance_m)),
        "frequency": lambda frequency_hz: wording.typeset(wording.frequency(frequency_hz)),
        "beside_line": lambda margin_db: wording.typeset(wording.beside_line(margin_db)),
        "line_name": lambda line: wording.typeset(wording.line_name(line)),
        "counted": scans_answer.counted,
        "nearest": scans_answer.nearest,
        "scans_headline": scans_answer.scans_headline,
        "scans_sentences": scans_answer.scans_sentences,
        "state": scans_answer.state,
        "with_detector": wording.with_detector,
        "beside_power_line": forecast_rows.beside_power_line,
        "chance": lambda share: wording.typeset(certainty.chance(share)),
        "clean": wording.plain,
        "sentence": wording.sentence,
        "thousands": lambda number: f"{number:,}".replace(",", "\u00a0"),
        "count": wording.count,
        "breakable": _breakable,
        "apart_rows": gathered.apart_rows,
        "cited_documents": gathered.cited_documents,
        "record_groups": gathered.record_groups,
        "unstated_rows": gathered.unstated_rows,
        "with_repeats": rows.with_repeats,
        "typeset": wording.typeset,
    }
    environment.globals |= {
        "range_question": range_answer.RANGE_QUESTION,
        "range_headline": range_answer.range_headline,
        "is_refused": range_answer.is_refused,
        "range_sentences": range_answer.range_sentences,
        "span": lambda low_hz, high_hz: wording.typeset(wording.span(low_hz, high_hz)),
        "standing_words": wording.STANDING_WORDS,
        "emissions_only": wording.EMISSIONS_ONLY,
        "no_action": wording.NO_ACTION,
        "reach_bars": rows.reach_bars,
        "budget_rows": rows.budget_rows,
        "leading": certainty.leading,
        "needed": certainty.needed,
        "wanted_share": certainty.wanted_share,
        "compared_links": forecast_rows.compared_links,
        "coverage_heads": forecast_rows.COVERAGE_HEADS,
        "driver_rows": forecast_rows.driver_rows,
        "forecast_rows": forecast_rows.forecast_rows,
        "margin_spread": forecast_rows.margin_spread,
        "same_power": forecast_rows.same_power,
        "at_least": bounds.AT_LEAST,
        "band_of_reach": certainty.band_of_reach,
        "far_end": field_rows.far_end,
        "estimate_notes": field_rows.estimate_notes,
        "port_rows": field_rows.port_rows,
        "side_rows": field_rows.side_rows,
        "split_rows": field_rows.split_rows,
        "mesh_rows": field_rows.mesh_rows,
        "quality_rows": field_rows.quality_rows,
        "shown_modes": field_rows.shown_modes,
        "measured_rows": field_rows.measured_rows,
        "measured_sentence": field_rows.measured_sentence,
        "change_rows": field_rows.change_rows,
        "changes_beside": field_rows.changes_beside,
        "changes_heading": field_rows.CHANGES_HEADING,
        "metal_rows": rows.metal_rows,
        "gain_sentence": rows.gain_sentence,
        "highest_points": rows.highest_points,
        "matrix_rows": rows.matrix_rows,
        "strip": rows.strip,
        "worst_rows": rows.worst_rows,
        "lines_in_use": rows.lines_in_use,
    }
    return environment
