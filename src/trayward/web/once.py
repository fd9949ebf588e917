"""A value worked out once for an object, without a lock that all objects of its class share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar, overload

T = TypeVar("T")


class once(Generic[T]):  # noqa: N801
    """
    As `functools.cached_property`, but two objects never wait for each other.

    Python 3.11's holds one lock for all objects of a class while the value is worked out. An ask that holds it and
    waits for the farm, and one that has the farm and waits for that lock, would wait for ever. (Python 3.12 has no
    lock there.) One object is used by one thread only, so none is needed.
    """

    def __init__(self, make: Callable[[Any], T]) -> None:
        self._make, self._name, self.__doc__ = make, make.__name__, make.__doc__

    @overload
    def __get__(self, found: None, kind: type) -> once[T]: ...

    @overload
    def __get__(self, found: object, kind: type) -> T: ...

    def __get__(self, found: object | None, kind: type) -> once[T] | T:
        if found is None:
            return self
        # Not asked for again: what stands in the object itself goes before this.
        value = found.__dict__[self._name] = self._make(found)
        return value
