"""One small page that shows what comes of varying a scenario."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linkbudget.report import varied as told
from linkbudget.report.page import rendered
from linkbudget.report.varied_figures import varied_drawings

if TYPE_CHECKING:
    from linkbudget.results import VaryResult


def render_varied(varied: VaryResult) -> str:
    """Render one HTML file that needs nothing else: figures or maps, then every point.

    Parameters
    ----------
    varied : VaryResult

    Returns
    -------
    str
        With one varied field plotly's script is in it; with two the maps need no script.
    """
    return rendered(
        "varied.html", varied_drawings(varied), varied.tool_version, varied=varied, told=told
    )
