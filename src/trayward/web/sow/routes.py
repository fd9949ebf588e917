"""Ways into the sowing pages."""

from __future__ import annotations

from trayward.web.routing import act, page
from trayward.web.sow.planned import (
    accept,
    add,
    add_page,
    anew,
    change,
    keep,
    leave_out,
    mix,
    picture,
    sow,
    sowing,
)
from trayward.web.sow.wonder import suppose, wonder

ROUTES = (
    page("/sow", sow, may="look"),
    page("/sow/anew", anew, may="look"),
    page("/sow/picture", picture, may="look"),
    page("/sow/mix", mix, may="look"),
    page("/sow/what-if", wonder, may="look"),
    page("/sow/sowing/{number}", sowing, may="look"),
    page("/sow/add", add_page, may="run"),
    act("/sow/accept", accept, may="answer"),
    act("/sow/keep", keep, may="run"),
    act("/sow/change", change, may="run"),
    act("/sow/leave-out", leave_out, may="run"),
    act("/sow/add", add, may="run"),
    act("/sow/what-if", suppose, may="look"),
)
