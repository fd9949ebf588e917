"""What stands on every page of a sheet."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from trayward.paper.flow import Flow, Heading
from trayward.paper.fonts import width
from trayward.paper.page import A4, LETTER, Size, Text

LONG = "The Cooperative Rooftop Microgreens and Edible Flowers Growers of the Old Harbour Quarter"


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("farm", ["Lantern Loft", LONG])
def test_the_foot_names_the_sheet_however_long_the_farms_name_is(farm: str, size: Size) -> None:
    heading = Heading(farm=farm, title="Round sheet, morning", about="", printed=datetime(2026, 11, 27, 6, tzinfo=UTC))
    flow = Flow(size, heading)
    page = flow.finished()[-1]
    foot = max((mark for mark in page.marks if isinstance(mark, Text)), key=lambda mark: (mark.y, -mark.x))
    assert foot.words.endswith(", Round sheet, morning")
    assert foot.words.startswith(farm[:20])
    assert width(foot.words, foot.size) <= flow.wide - 45.0
