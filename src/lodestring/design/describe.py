"""The records of the set file as a list of fields: for documentation, did-you-mean and forms."""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from lodestring.design.fields import Reads, ReadsBy


@dataclass(frozen=True, slots=True)
class FieldRow:
    """One field: key path with `NAME` for free names and `N` for list numbers, what it takes, whether it must be
    given.
    """

    path: str
    takes: str
    required: bool
    default: str
    help: str


def fields_at(root: type[BaseModel], path: tuple[str | int, ...]) -> tuple[str, ...]:
    """Names of the keys allowed in the table at `path`, empty where it is not a table of fixed keys."""
    annotation: Any = root
    for step in path:
        annotation = _step(annotation, step)
        if annotation is None:
            return ()
    model = _model_in(annotation)
    return tuple(model.model_fields) if model is not None else ()


def _step(annotation: Any, step: str | int) -> Any:
    model = _model_in(annotation)
    if model is not None:
        field = model.model_fields.get(str(step))
        return None if field is None else field.annotation
    for part in _flat(annotation):
        if get_origin(part) is dict:
            return get_args(part)[1]
        if get_origin(part) is tuple:
            inner = get_args(part)
            return inner[0] if len(inner) == 2 and inner[1] is Ellipsis else inner[int(step) - 1] if step else None
    return None


def _flat(annotation: Any) -> Iterator[Any]:
    """The members of a union, with Annotated taken off, depth first."""
    origin = get_origin(annotation)
    if origin in (Union, types.UnionType):
        for member in get_args(annotation):
            yield from _flat(member)
    elif hasattr(annotation, "__metadata__"):
        readers = [m for m in annotation.__metadata__ if isinstance(m, Reads | ReadsBy)]
        if readers:
            yield annotation
        else:
            yield from _flat(get_args(annotation)[0])
    else:
        yield annotation


def _model_in(annotation: Any) -> type[BaseModel] | None:
    for part in _flat(annotation):
        if isinstance(part, type) and issubclass(part, BaseModel):
            return part
    return None


def rows(root: type[BaseModel], prefix: str = "") -> Iterator[FieldRow]:
    """Every field of `root` and the records inside it, in declaration order."""
    for name, field in root.model_fields.items():
        yield from _field_rows(f"{prefix}{name}", field.annotation, field, field.metadata)


def _field_rows(path: str, annotation: Any, field: FieldInfo, metadata: list[Any]) -> Iterator[FieldRow]:
    readers = [m for m in metadata if isinstance(m, Reads | ReadsBy)]
    takes = [_word(m) for m in readers] or [_takes(part) for part in _flat(annotation)]
    takes = [t for t in dict.fromkeys(takes) if t]
    required = field.is_required()
    default = "" if required or field.default in (None, PydanticUndefined) else _default(field.default)
    yield FieldRow(path, " or ".join(takes), required, default, field.description or "")
    for part in _flat(annotation):
        if isinstance(part, type) and issubclass(part, BaseModel):
            yield from rows(part, f"{path}.")
        elif get_origin(part) is dict:
            model = _model_in(get_args(part)[1])
            if model is not None:
                yield from rows(model, f"{path}.NAME.")
        elif get_origin(part) is tuple:
            model = _model_in(get_args(part)[0])
            if model is not None:
                yield from rows(model, f"{path}.N.")


def _word(reader: Reads | ReadsBy) -> str:
    return reader.wanted if isinstance(reader, ReadsBy) else reader.kind.name.lower().replace("_", " ")


def _takes(part: Any) -> str:
    origin = get_origin(part)
    if hasattr(part, "__metadata__"):
        return _word(next(m for m in part.__metadata__ if isinstance(m, Reads | ReadsBy)))
    if part is type(None):
        return ""
    if origin is Literal:
        return " | ".join(f'"{value}"' if isinstance(value, str) else str(value) for value in get_args(part))
    if origin is tuple:
        inner = [t for a in get_args(part)[:1] for p in _flat(a) for t in [_takes(p)] if t]
        return "list of " + (" or ".join(inner) or "tables")
    if origin is dict:
        return "tables by name"
    if isinstance(part, type) and issubclass(part, BaseModel):
        return "table"
    return {int: "whole number", float: "number", str: "text"}.get(part, str(part))


def _default(value: Any) -> str:
    if isinstance(value, BaseModel | dict | tuple):
        return ""
    return f'"{value}"' if isinstance(value, str) else str(value)
