"""Every picture of a coil and its pickup, from an assessment; those called 1:1 are printed so or not at all."""

from __future__ import annotations

from lodestring.drawing.mounting_view import mounting_view, polarity_view
from lodestring.drawing.place_view import place_view
from lodestring.drawing.section_view import section
from lodestring.drawing.size_plot import size_plot
from lodestring.drawing.template_view import check_bar, template_view
from lodestring.drawing.top_view import top_view

__all__ = [
    "check_bar",
    "mounting_view",
    "place_view",
    "polarity_view",
    "section",
    "size_plot",
    "template_view",
    "top_view",
]
