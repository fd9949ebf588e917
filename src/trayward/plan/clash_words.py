"""What stands in the way, in words: a sentence for each limit and week, and one for each line that is not met."""

from __future__ import annotations

import msgspec

from trayward.plan.clash import ENOUGH_G, Clash, short_lines, short_of
from trayward.plan.limits import DAYS_OFF
from trayward.plan.results import Read
from trayward.plan.types import Limit
from trayward.plan.words import FEW, amount_words, days_words
from trayward.words import counted, listed


def by_week(read: Read, clashes: list[Clash]) -> list[Limit]:
    """Clashes of one limit in one week as one, with the worst day's amounts."""
    weeks: dict[tuple[str, int, int], list[Clash]] = {}
    for clash in clashes:
        year, week, _ = read.task.days.day(clash.day).isocalendar()
        when = (0, 0) if clash.message else (year, week)
        weeks.setdefault((clash.limit, *when), []).append(clash)
    return [_limit(read, group) for group in weeks.values()]


def _limit(read: Read, group: list[Clash]) -> Limit:
    worst, days = max(group, key=lambda clash: (clash.short, -clash.day)), read.task.days
    first, last = days.day(min(clash.day for clash in group)), days.day(max(clash.day for clash in group))
    wants = sorted({want for clash in group for want in clash.wants})
    lines = [number for want in wants for number in short_lines(read, read.task.wants[want])]
    whom = listed(
        dict.fromkeys(f"{read.lines[n].line.customer} ({read.lines[n].line.product})" for n in lines), most=FEW
    )
    said = worst.message or _sentence(worst, days_words(first, last))
    if worst.limit == "time" and len(lines) > 1:
        late = f"Too late to sow for {counted(len(lines), 'line')} due {days_words(first, last)}"
        said = f"{late}: they had to be sown for before today."
    return Limit(
        limit=worst.limit,
        first=first,
        last=last,
        has=round(worst.has, 2),
        short=round(worst.short, 2),
        unit=worst.unit,
        lines=tuple(read.lines[number].line.line for number in lines),
        message=f"{said} Wanted for {whom}.",
    )


def _sentence(clash: Clash, when: str) -> str:
    has, more = amount_words(clash.has, clash.unit), amount_words(clash.short, clash.unit)
    if clash.limit.startswith("seed of"):
        return f"{clash.limit}: {has} to sow from until then, {more} more needed {when.replace('on ', 'by ', 1)}."
    if clash.limit.startswith("cut window"):
        return f"{clash.limit}: {has}, trays would have to stand {more} longer {when}."
    if clash.limit.startswith("cold-room life"):
        return f"{clash.limit}: {more} would have to keep longer than it does {when}."
    if clash.limit == DAYS_OFF:
        return f"{clash.limit}: {more} of work would fall {when}."
    return f"{clash.limit}: {has} at most, {more} more needed {when}."


def line_reasons(read: Read, clashes: list[Clash], short: set[int]) -> dict[int, str]:
    """Line -> what it is short of and why, for the lines of the wants that are not met."""
    found = {}
    for want in short:
        own = [msgspec.structs.replace(clash, wants=frozenset({want})) for clash in clashes if want in clash.wants]
        named = [limit.message.split(" Wanted for")[0] for limit in by_week(read, [c for c in own if not c.message])]
        said = dict.fromkeys([clash.message for clash in own if clash.message] + named)
        words = "; ".join(sentence.rstrip(".") for sentence in said)
        for number in short_lines(read, read.task.wants[want]):
            line = read.lines[number]
            amount = short_of(line, read, number)
            missing = counted(amount, "live tray") if line.line.live else amount_words(amount, "g")
            found[number] = (
                f"{missing} short. {_upper(words)}." if own else f"{missing} short. {_not_worth(read, number)}"
            )
    return found


def _not_worth(read: Read, number: int) -> str:
    """No limit is in the way: the model weighed one more tray against what is short, at the cautious weight."""
    kind = "live tray" if read.lines[number].line.live else "tray"
    said = f"Nothing stands in the way, but one more {kind} for it would cost more than it brings."
    options = read.board.options
    likely = sum(
        share.grams * float(options.likely[share.option] / options.grams[share.option])
        for share in read.given.shares
        if share.line == number and share.option >= 0 and share.grams
    )
    enough = likely >= read.lines[number].grams - ENOUGH_G and not read.lines[number].line.live
    return said + (" At the likely weight there would be enough." if enough else "")


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]
