"""Pages of a sheet before they become a PDF."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from trayward.paper import flow
from trayward.paper.page import Page, pdf


@pytest.fixture
def laid_out(monkeypatch: pytest.MonkeyPatch) -> list[Page]:
    """Pages of every sheet made in a test."""
    seen: list[Page] = []

    def listening(pages: Sequence[Page], **how: Any) -> bytes:
        seen.extend(pages)
        return pdf(pages, **how)

    monkeypatch.setattr(flow, "pdf", listening)
    return seen
