"""The month and the year: looked at, printed, taken along as a spreadsheet."""

from __future__ import annotations

from starlette.responses import Response

from trayward.money.report import Report, period_of
from trayward.web.ask import Ask
from trayward.web.handed import PDF, XLSX, handed
from trayward.web.money.view import periods_of
from trayward.web.routing import page


def report(ask: Ask) -> Response:
    """A month or a year against the time before and the plan."""
    found = _report(ask)
    return ask.show(
        "money/report.html",
        report=found,
        currency=found.currency,
        periods=periods_of(ask.farm.state(ask.at), ask.settings, ask.today),
    )


def report_pdf(ask: Ask) -> Response:
    """The same for the printer."""
    from trayward.paper.money_report import report_sheet
    from trayward.paper.paper import paper_of

    found = _report(ask)
    paper = paper_of(ask.settings, ask.at, ask.query.text("size"), ask.on_paper())
    pdf = report_sheet(found, paper, ask.settings)
    return handed(pdf, PDF, f"money-{found.period.name}.pdf", shown=True)


def report_xlsx(ask: Ask) -> Response:
    """The same as a spreadsheet."""
    from trayward.money.sheet import report_xlsx as made

    found = _report(ask)
    return handed(made(found), XLSX, f"money-{found.period.name}.xlsx")


def _report(ask: Ask) -> Report:
    name = period_of(ask.query.text("period", f"{ask.today:%Y-%m}")).name

    def made() -> Report:
        return ask.farm.money_report(name, at=ask.at)

    return ask.kept(("money report", name, ask.today), made)


ROUTES = (
    page("/money/report", report, may="run"),
    page("/money/report.pdf", report_pdf, may="run"),
    page("/money/report.xlsx", report_xlsx, may="run"),
)
