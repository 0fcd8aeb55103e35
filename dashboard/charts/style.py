"""One look for all charts, in light and in dark."""

from __future__ import annotations

from typing import Any, TypeAlias

import altair as alt

Drawn: TypeAlias = alt.Chart | alt.LayerChart | alt.FacetChart
LIGHT_INK, DARK_INK = "#3d464b", "#c4cccf"


def styled(drawn: Any, dark: bool) -> Any:
    """The chart with text large enough to read, in ink that stands out from the page."""
    ink = DARK_INK if dark else LIGHT_INK
    line = "#3a4448" if dark else "#dfe2dd"
    return (
        drawn.configure_axis(
            labelColor=ink, titleColor=ink, labelFontSize=13, titleFontSize=13, titleFontWeight=500, gridColor=line
        )
        .configure_legend(labelColor=ink, titleColor=ink, labelFontSize=13, titleFontSize=13, symbolSize=90)
        .configure_text(color=ink)
        .configure_view(stroke=None)
    )
