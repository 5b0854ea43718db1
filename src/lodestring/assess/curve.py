"""A curve of an assessment: axes and x known at once, points worked out when asked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

Points = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Axis:
    """Name and unit of one axis; the name is empty where the key says it."""

    unit: str
    name: str = ""


@dataclass(frozen=True)
class Curve:
    """y over x, both SI. `made` is y, or what makes it."""

    key: str
    x_axis: Axis
    y_axis: Axis
    x: Points
    made: Points | Callable[[], Points]

    @cached_property
    def y(self) -> Points:
        """The points; made when first asked for."""
        return self.made() if callable(self.made) else self.made


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of curve: unit of y and what it shows."""

    unit: str
    help: str
