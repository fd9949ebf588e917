"""Numbers on the command line, refused in the same words as everything else that is given wrong."""

from __future__ import annotations

from typing import Any

import click
from click.types import FloatParamType, IntParamType

from trayward.errors import InputError
from trayward.units import require_one_meaning


class _Refusing:
    """Says what click says of a number that is none, or out of bounds, in the house form."""

    rule = "must be a number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The number; a comma may mark its decimals. Raises `InputError` where it is none, or out of bounds."""
        if isinstance(value, str):
            require_one_meaning(value, name=_name(param))
        plain = value.replace(",", ".") if isinstance(value, str) else value
        try:
            return super().convert(plain, param, ctx)  # type: ignore[misc]
        except click.BadParameter as error:
            rule = self._bounds() if _is_number(plain) else self.rule
            raise InputError(_name(param), value, rule, _example(param)) from error

    def _bounds(self) -> str:
        low, high = getattr(self, "min", None), getattr(self, "max", None)
        if low is not None and high is not None:
            return f"must lie in [{low:g}, {high:g}]"
        return f"must be {low:g} or more" if low is not None else self.rule


class _Number(_Refusing, FloatParamType):
    pass


class _Whole(_Refusing, IntParamType):
    rule = "must be a whole number"


class _WholeWithin(_Refusing, click.IntRange):
    rule = "must be a whole number"


NUMBER = _Number()
"""Any number."""
WHOLE = _Whole()
"""Any whole number."""


def whole(low: int, high: int | None = None) -> click.IntRange:
    """A whole number from `low` on, up to `high` where there is one."""
    return _WholeWithin(low, high)


def _is_number(value: Any) -> bool:
    try:
        int(value)
    except ValueError:
        return False
    return True


def _name(param: click.Parameter | None) -> str:
    return (param.name or "number").replace("_", " ") if param is not None else "number"


def _example(param: click.Parameter | None) -> str:
    """The way out: the example that the option's help gives."""
    told = (param.help or "") if isinstance(param, click.Option) else ""
    _, found, example = told.partition("Example: ")
    return f"For instance {example}" if found else "For instance 4."
