"""Trayward: the planner, round sheet and memory of a microgreens grower."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from trayward.bootstrap import Farm as Farm

__version__ = "0.1.0"
__all__ = ["Farm", "__version__"]


def __getattr__(name: str) -> Any:
    # Imported when first asked for, so that `import trayward` and `trayward --help` stay light.
    if name == "Farm":
        from trayward.bootstrap import Farm

        return Farm
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
