"""Which keys a file may have at a place, by its schema: for who misspelled one."""

from __future__ import annotations

from typing import Any, get_args, get_origin

from pydantic import BaseModel


def known_keys(model: Any, path: tuple[str | int, ...]) -> list[str]:
    """Keys that may stand at a path; empty where the schema does not tell."""
    places = [model]
    for step in path:
        places = [found for place in places for found in _inside(place, step)]
    return [key for place in places for key in _fields(place)]


def _fields(place: Any) -> dict[str, Any]:
    if isinstance(place, type) and issubclass(place, BaseModel):
        fields = place.model_fields.items()
        return {field.alias or name: field.annotation for name, field in fields}
    return {}


def _inside(place: Any, step: str | int) -> list[Any]:
    """What may stand below a key or a number; several where a place takes several kinds."""
    if fields := _fields(place):
        return _parts(fields.get(str(step)))
    return (
        _parts(get_args(place)[-1 if get_origin(place) is dict else 0]) if get_args(place) else []
    )


def _parts(annotation: Any) -> list[Any]:
    """Kinds that an annotation names: models, and lists or mappings of them."""
    if annotation is None or annotation is type(None):
        return []
    if _fields(annotation) or get_origin(annotation) in (dict, tuple, list):
        return [annotation]
    return [part for one in get_args(annotation) for part in _parts(one)]
