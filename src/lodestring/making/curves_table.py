"""Curves as a table in CSV: one column for each x, then the curves over it; SI, a point for the decimals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import zip_longest

from lodestring.assess.curve import Axis, Curve

FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a cell that starts so for a formula."""


def cell(value: str | float) -> str:
    """One cell (RFC 4180). One that starts as a formula does is quoted, and text has an apostrophe before it, without
    which a spreadsheet would still run it; a number stays the number it is."""
    text = value if isinstance(value, str) else f"{value:.12g}"
    formula = text.startswith(FORMULA)
    if formula and isinstance(value, str):
        text = f"'{text}"
    if formula or any(c in text for c in ',"\r\n;'):
        return '"' + text.replace('"', '""') + '"'
    return text


def curves_csv(curves: Iterable[Curve]) -> str:
    """The table of some curves, a line for each point under one line of names with units; curves over the same x share
    its column, and shorter columns end in empty cells. Ends with a line break."""
    columns: list[tuple[str, tuple[float, ...]]] = []
    used: dict[str, int] = {}
    for (axis, x), group in _by_x(curves).items():
        used[axis.name] = used.get(axis.name, 0) + 1
        name = axis.name if used[axis.name] == 1 else f"{axis.name} {used[axis.name]}"
        columns.append((f"{name} [{axis.unit}]", x))
        columns += [(f"{curve.key} [{curve.y_axis.unit}]", curve.y) for curve in group]
    rows: list[Iterable[str | float]] = [[head for head, _ in columns]]
    rows += zip_longest(*(values for _, values in columns), fillvalue="")
    return "".join(",".join(cell(value) for value in row) + "\n" for row in rows)


def _by_x(curves: Iterable[Curve]) -> Mapping[tuple[Axis, tuple[float, ...]], list[Curve]]:
    out: dict[tuple[Axis, tuple[float, ...]], list[Curve]] = {}
    for curve in curves:
        x = tuple(float(v) for v in curve.x)
        out.setdefault((curve.x_axis, x), []).append(curve)
    return out
