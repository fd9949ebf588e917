"""Ways into the orders."""

from __future__ import annotations

from trayward.web.orders.listing import customers, orders, standing
from trayward.web.orders.placing import cancel, change, new, order, place
from trayward.web.orders.repeating import (
    customer,
    end,
    go_on,
    new_standing,
    pause,
    set_customer,
    set_standing,
    skip,
    standing_order,
)
from trayward.web.orders.taking import bring, choose, import_page, keep, preview
from trayward.web.routing import UPLOAD_LIMIT, act, page

ROUTES = (
    page("/orders", orders, may="look"),
    page("/orders/standing", standing, may="look"),
    page("/orders/customers", customers, may="look"),
    page("/orders/new", new, may="run"),
    page("/orders/order/{name:path}", order, may="look"),
    page("/orders/standing-new", new_standing, may="run"),
    page("/orders/standing/{name:path}", standing_order, may="look"),
    page("/orders/customer/{name:path}", customer, may="look"),
    page("/orders/import", import_page, may="run"),
    page("/orders/import/{token}", preview, may="run"),
    act("/orders/new", place, may="run"),
    act("/orders/change", change, may="run"),
    act("/orders/cancel", cancel, may="run"),
    act("/orders/standing", set_standing, may="run"),
    act("/orders/pause", pause, may="run"),
    act("/orders/go-on", go_on, may="run"),
    act("/orders/skip", skip, may="run"),
    act("/orders/end", end, may="run"),
    act("/orders/customer", set_customer, may="run"),
    act("/orders/import", bring, may="run", limit=UPLOAD_LIMIT),
    act("/orders/import/read", choose, may="run"),
    act("/orders/import/keep", keep, may="run"),
)
