"""What a season study says: each policy's figures, how much of the gap is closed, and whether promises held."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import msgspec
import numpy as np

from trayward.study.figures import (
    Courses,
    Estimate,
    Floats,
    LearningPays,
    gain_over_best,
    generator_of,
    learning_pays,
    mean_course,
    mean_estimate,
    ratio_estimate,
    share_closed,
)
from trayward.study.goals import Goal, goals_of
from trayward.study.reliability import CalibrationBin, Promises, Reliability, reliability
from trayward.study.running import POLICIES, Failed, season_words
from trayward.study.types import BOUND, CEILING, KNOWN, LAW, LEARNING, PRIORS, RULE, SeasonResult

HOW = (
    "Every policy lives through the same seeds. Intervals hold 19 of 20: the seeds are drawn anew 10,000 times by "
    "fixed chance, all policies of a seed together, and shares are ratios of sums. The buffer of the rule of thumb is "
    "the one that earns most over all seeds, chosen in hindsight, in each redraw anew."
)
RESTS_ON = {
    RULE: "the best rule of thumb, and every share of the gap",
    PRIORS: "its own figures, and when learning pays",
    LEARNING: "its own figures, all shares of the gap, the promises, and when learning pays",
    LAW: "its own figures, and the share of the gap against the known law",
    KNOWN: "its own figures, and the share of the gap against known biology",
    CEILING: "its own figures, and the share of the gap against the ceiling",
    BOUND: "the share of the gap against knowing all",
}
"""Figures that a season of a policy belongs to."""


class PolicyFigures(msgspec.Struct, frozen=True, kw_only=True):
    """A policy's season, mean over its seeds. [farm's currency], [g], [-]"""

    margin: float
    margin_low: float | None
    margin_high: float | None
    over_best_rule: Estimate
    """Margin beyond the best rule of thumb, seed by seed."""
    money: float
    full_on_time: float | None
    """Lines met in full and on time, of all lines; None where it is not counted, as for a bound it may not be."""
    full_on_time_low: float | None
    full_on_time_high: float | None
    unsold_share: float | None
    """Grown and not sold, of all that was sold or not."""
    unsold_g: float
    delivered_g: float
    lines: float
    parts: dict[str, float]
    """Sales, seed, medium, hands, energy, packaging, disposal and shortfall."""
    seeds: int
    buffer: float | None = None
    """Of the rule of thumb: the share sown beyond what is due."""


class RuleFigures(msgspec.Struct, frozen=True, kw_only=True):
    """The rule of thumb with one buffer."""

    buffer: float
    margin: float
    full_on_time: float | None
    unsold_share: float | None
    seeds: int


class StudyReport(msgspec.Struct, frozen=True, kw_only=True):
    """All that a study says; encoded as JSON it is what programs read."""

    world: str
    seeds: int
    policies: dict[str, PolicyFigures]
    share_closed: Estimate
    """(learning - best rule) / (all-knowing - best rule)."""
    share_closed_known_biology: Estimate
    """(learning - best rule) / (known biology - best rule)."""
    calibration: tuple[CalibrationBin, ...]
    """Promises of the policy that learns."""
    headline: str
    goals: tuple[Goal, ...]
    share_closed_known_law: Estimate
    """(learning - best rule) / (known law - best rule): of what could be learned, how much is used."""
    share_closed_ceiling: Estimate
    """(learning - best rule) / (ceiling - best rule): of what could be had without knowing the luck of trays."""
    shares_closed: dict[str, Estimate]
    """Of each policy, against the all-knowing bound."""
    promises: dict[str, Promises]
    """By policy."""
    learning_pays: LearningPays | None
    best_buffer: float | None
    best_buffer_at_end: bool
    """The best buffer is the smallest or the largest tried: one beyond it may be better still."""
    rules: tuple[RuleFigures, ...]
    margin_by_day: dict[str, tuple[float, ...]]
    margins: dict[str, dict[str, float]]
    """By policy and seed; of the rule of thumb with its best buffer."""
    failed: tuple[str, ...]
    lacks: tuple[str, ...]
    """Which figures lack the seasons that failed."""
    notes: tuple[str, ...]
    """What is odd about a season, each with its name."""
    how: str = HOW


Seasons = dict[int, SeasonResult]
"""By seed."""


def study_report(results: Iterable[SeasonResult], *, world: str, failed: Sequence[Failed] = ()) -> StudyReport:
    """
    Work out what a study says.

    Parameters
    ----------
    results : iterable of SeasonResult
        In any order; each task once.
    world : str
        As it was asked for.
    failed : sequence of Failed
        Seasons that nothing came of. Figures do without their seeds, and it is said which.

    Returns
    -------
    StudyReport
        The same for the same seasons, whatever order they came in.
    """
    seen = sorted(results, key=lambda one: (one.task.seed, one.task.policy, one.task.buffer))
    rules = _rules(seen)
    policies = {name: {one.task.seed: one for one in seen if one.task.policy == name} for name in POLICIES[1:]}
    best = best_buffer(rules)
    if best is not None:
        policies = {RULE: rules[best], **policies}
    policies = {name: seasons for name, seasons in policies.items() if seasons}
    held = {name: _promises(seasons) for name, seasons in policies.items() if any(s.promises for s in seasons.values())}
    against_all = {name: _closed(name, rules, policies, BOUND) for name in (PRIORS, LEARNING, LAW, KNOWN, CEILING)}
    against_known = _closed(LEARNING, rules, policies, KNOWN)
    figures = {name: _figures(name, seasons, rules, best) for name, seasons in policies.items()}
    mine = held.get(LEARNING, Reliability())
    return StudyReport(
        world=world,
        seeds=len({one.task.seed for one in seen} | {one.task.seed for one in failed}),
        policies=figures,
        share_closed=against_all[LEARNING],
        share_closed_known_biology=against_known,
        share_closed_ceiling=_closed(LEARNING, rules, policies, CEILING),
        share_closed_known_law=_closed(LEARNING, rules, policies, LAW),
        calibration=mine.bins,
        headline=_headline(against_all[LEARNING]),
        goals=goals_of(
            against_all[LEARNING], against_known, _full(figures, LEARNING), _full(figures, BOUND).mean, mine.told
        ),
        shares_closed={name: share for name, share in against_all.items() if name in policies},
        promises={name: one.told for name, one in held.items()},
        learning_pays=_learning_pays(policies),
        best_buffer=best,
        best_buffer_at_end=best is not None and len(rules) > 1 and best in (min(rules), max(rules)),
        rules=tuple(_rule(buffer, seasons) for buffer, seasons in rules.items()),
        margin_by_day={name: course for name, seasons in policies.items() if (course := _course(seasons))},
        margins={name: {str(seed): one.margin for seed, one in seasons.items()} for name, seasons in policies.items()},
        failed=tuple(one.sentence for one in failed),
        lacks=_lacks(failed),
        notes=tuple(f"{season_words(one.task)}: {note}" for one in seen for note in one.notes),
    )


# The rule of thumb ----------------------------------------------------------------------------------------------------


def _rules(results: Sequence[SeasonResult]) -> dict[float, Seasons]:
    """Seasons of the rule of thumb by buffer, from the smallest."""
    found: dict[float, Seasons] = {}
    for one in results:
        if one.task.policy == RULE:
            found.setdefault(one.task.buffer, {})[one.task.seed] = one
    return dict(sorted(found.items()))


def best_buffer(rules: dict[float, Seasons]) -> float | None:
    """The buffer that earns most over the seeds that every buffer has; the smaller where two earn the same."""
    seeds = _in_all(rules.values())
    if not seeds:
        return None
    return max(rules, key=lambda buffer: (sum(rules[buffer][seed].margin for seed in seeds), -buffer))


def _in_all(seasons: Iterable[Seasons]) -> list[int]:
    """Seeds that all of them have."""
    sets = [set(one) for one in seasons]
    return sorted(set.intersection(*sets)) if sets else []


def _rule(buffer: float, seasons: Seasons) -> RuleFigures:
    many = list(seasons.values())
    return RuleFigures(
        buffer=buffer,
        margin=_mean(many, lambda one: one.margin),
        full_on_time=_share(many, lambda one: one.full_on_time, lambda one: one.lines),
        unsold_share=_share(many, lambda one: one.unsold_g, _sold_or_not),
        seeds=len(many),
    )


# Policies -------------------------------------------------------------------------------------------------------------


def _figures(name: str, seasons: Seasons, rules: dict[float, Seasons], best: float | None) -> PolicyFigures:
    many = list(seasons.values())
    margin = mean_estimate([one.margin for one in many], generator_of(f"margin {name}"))
    full = ratio_estimate(
        [one.full_on_time for one in many], [one.lines for one in many], generator_of(f"full on time {name}")
    )
    return PolicyFigures(
        margin=_mean(many, lambda one: one.margin),
        margin_low=margin.low,
        margin_high=margin.high,
        over_best_rule=_over(name, seasons, rules),
        money=_mean(many, lambda one: one.money),
        full_on_time=full.mean,
        full_on_time_low=full.low,
        full_on_time_high=full.high,
        unsold_share=_share(many, lambda one: one.unsold_g, _sold_or_not),
        unsold_g=_mean(many, lambda one: one.unsold_g),
        delivered_g=_mean(many, lambda one: one.delivered_g),
        lines=_mean(many, lambda one: one.lines),
        parts=_parts(many),
        seeds=len(many),
        buffer=best if name == RULE else None,
    )


def _over(name: str, seasons: Seasons, rules: dict[float, Seasons]) -> Estimate:
    seeds = _in_all([seasons, *rules.values()])
    if not rules or not seeds:
        return Estimate(why_not="no seed has both it and the rule of thumb")
    if name == RULE:
        return Estimate(mean=0.0, low=0.0, high=0.0, seeds=len(seeds))
    return gain_over_best(_margins(seasons, seeds), _table(rules, seeds), generator_of(f"over the rule {name}"))


def _closed(name: str, rules: dict[float, Seasons], policies: dict[str, Seasons], yardstick: str) -> Estimate:
    """Share of the gap that a policy closes, over the seeds that all it takes have."""
    wanted = [policies.get(name, {}), policies.get(yardstick, {}), *rules.values()]
    missing = [what for what, seasons in zip((name, yardstick), wanted, strict=False) if not seasons]
    missing += [] if rules else [RULE]
    seeds = _in_all(wanted)
    if missing or not seeds:
        without = f"there is no season of {' and '.join(missing)}" if missing else "no seed has all that it takes"
        return Estimate(why_not=without)
    ours, most = _margins(policies[name], seeds), _margins(policies[yardstick], seeds)
    return share_closed(ours, _table(rules, seeds), most, generator_of(f"share closed {name} {yardstick}"))


def _margins(seasons: Seasons, seeds: Sequence[int]) -> Floats:
    return np.array([seasons[seed].margin for seed in seeds])


def _table(rules: dict[float, Seasons], seeds: Sequence[int]) -> Floats:
    """Margins of the rule (n, b), a column for each buffer."""
    return np.column_stack([_margins(seasons, seeds) for seasons in rules.values()])


def _full(figures: dict[str, PolicyFigures], name: str) -> Estimate:
    found = figures.get(name)
    if found is None:
        return Estimate()
    return Estimate(
        mean=found.full_on_time, low=found.full_on_time_low, high=found.full_on_time_high, seeds=found.seeds
    )


def _sold_or_not(one: SeasonResult) -> float:
    return one.delivered_g + one.unsold_g


def _mean(seasons: Sequence[SeasonResult], of: Callable[[SeasonResult], float]) -> float:
    return sum(map(of, seasons)) / len(seasons)


def _share(
    seasons: Sequence[SeasonResult], part: Callable[[SeasonResult], float], whole: Callable[[SeasonResult], float]
) -> float | None:
    every = sum(map(whole, seasons))
    return sum(map(part, seasons)) / every if every > 0 else None


def _parts(seasons: Sequence[SeasonResult]) -> dict[str, float]:
    names = dict.fromkeys(name for one in seasons for name in one.parts)
    return {name: sum(one.parts.get(name, 0.0) for one in seasons) / len(seasons) for name in names}


def _promises(seasons: Seasons) -> Reliability:
    return reliability({seed: one.promises for seed, one in seasons.items()})


def _learning_pays(policies: dict[str, Seasons]) -> LearningPays | None:
    learning, other = policies.get(LEARNING, {}), policies.get(PRIORS, {})
    pairs = [(learning[seed], other[seed]) for seed in _in_all([learning, other])]
    return learning_pays([Courses(one.by_day, two.by_day, min(one.first_sown, two.first_sown)) for one, two in pairs])


def _course(seasons: Seasons) -> tuple[float, ...]:
    return mean_course([one.by_day for one in seasons.values()])


# Words ----------------------------------------------------------------------------------------------------------------


def _headline(share: Estimate) -> str:
    if share.mean is None:
        return f"How much of the gap learning closes cannot be told: {share.why_not}."
    return (
        f"Of what could be earned beyond the best rule of thumb, the plan that learns earned {percent_words(share)}, "
        f"over {share.seeds} season{'' if share.seeds == 1 else 's'}."
    )


def percent_words(share: Estimate) -> str:
    """
    A share with its interval.

    Examples
    --------
    >>> percent_words(Estimate(mean=0.62, low=0.55, high=0.69))
    '62 % (55 to 69 %)'
    """
    if share.mean is None:
        return "not known"
    if share.low is None or share.high is None:
        return f"{100 * share.mean:.0f} %"
    return f"{100 * share.mean:.0f} % ({100 * share.low:.0f} to {100 * share.high:.0f} %)"


def pays_words(pays: LearningPays | None) -> str:
    """From when on learning pays."""
    if pays is None:
        return "When learning pays cannot be told: it takes seasons with published priors and with learning."
    if pays.seeds == 1:
        return _pays_in_one(pays)
    seasons = f"{pays.seeds_in_which} of {pays.seeds} seasons"
    if pays.median_days is None:
        return f"Learning does not pay within the season: it is ahead for good by its end in {seasons} only."
    return (
        f"Learning pays from day {pays.median_days:g} after the first sowing (the middle of all seasons): from then on "
        f"it stays ahead of the published figures. By the season's end it is ahead in {seasons}."
    )


def _pays_in_one(pays: LearningPays) -> str:
    if pays.median_days is None:
        return "Learning does not pay within the one season: it is not ahead for good by its end."
    return (
        f"Learning pays from day {pays.median_days:g} after the first sowing: from then on it stays ahead of the "
        "published figures. It is one season only."
    )


def _lacks(failed: Sequence[Failed]) -> tuple[str, ...]:
    """For each policy with seasons that failed: which, and what does without them."""
    found = []
    for policy in POLICIES:
        seeds = sorted({one.task.seed for one in failed if one.task.policy == policy})
        if seeds:
            named = f"seed{'' if len(seeds) == 1 else 's'} {', '.join(map(str, seeds))}"
            found.append(f"Without {named} of {policy}: {RESTS_ON[policy]}.")
    return tuple(found)
