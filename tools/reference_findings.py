"""The page of findings: every code the source says, with its severity, and what a grower does about it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

SOURCE = Path(__file__).resolve().parents[1] / "src" / "trayward"
SAYS = {"wrong": "wrong", "_wrong": "wrong", "from_error": "wrong", "odd": "odd"}
"""Functions that make a finding, and its severity."""
TABLES = {"_FAULTS": "odd"}
"""Tables by code of what findings say, and their severity."""

INTRO = """# Findings

After reading this page you can tell what a finding is about, whether it can wait, and what to do.

Made by `make reference`, which looks the codes up in the source; do not edit. A test fails when it is out of date.

A *finding* says that something in the record does not add up. It begins with `look:` on a screen, and stands under
`findings` in `--json`, with its `code`. Nothing is lost because of it.

- **wrong**: it cannot have happened as recorded. Said as it happens, it is refused, and the message names the way out.
  Arriving late, from a phone that had no signal, it is kept, and what of it can be is done.
- **odd**: it can be, but deserves a look. It is kept.

Most are put right in one of two ways: say what is missing (a delivery, a wash, where a tray went), or strike the entry
that was a slip ([keep the book safe](../how-to/keep-the-book-safe.md) shows how).
"""

GROUPS: dict[str, dict[str, str]] = {
    "Trays": {
        "tray-unknown": "The farm has no tray of that name. Check it with `trayward tray`.",
        "tray-ended": "The tray was cut, delivered or discarded before. If that was the slip, strike it first.",
        "tray-not-cut": "Only a tray that was cut or discarded can be stripped.",
        "tray-twice": "A tray's name is used once. Give these trays names of their own.",
        "sowing-twice": "A sowing's name is used once. Leave `--name` out and it gets a free one.",
        "stage-unknown": "The tray's recipe has no stage of that name. `trayward recipe show` lists them.",
        "stage-back": "The tray is in that stage already, or past it. Right if it really went back.",
        "recipe-unknown": "The farm has no recipe of that name. `trayward recipe` lists them.",
        "recipe-dropped": "The recipe is no longer sown on this farm. Set it again if it is back.",
        "feed-ph": "Outside the recipe's pH. Measure again before more is given; with acids, defer to the label.",
        "feed-ec": "Outside the EC the farm wants. Measure again, then thin it or add feed as the finding says.",
        "water-much": "More than five times what the stage usually takes. A slip, or the water of several trays?",
    },
    "The water bench": {
        "acid-nutrient": "The acid alone would bring more of a plant food than a feed should. Mix acids, or blend.",
        "alkalinity-high": "So much alkalinity is hard to hold with acid alone. Blend with rain or reverse osmosis.",
        "buffer-thin": "Next to nothing holds the pH there, so a drop too much overshoots. Go by the meter.",
        "feed-strong": "A stronger feed than microgreens usually get. Right if you tried it before.",
        "refill-much": "By its weights a tray lost more than it holds. Weigh it again, and look at the units.",
        "over-the-top": "Water would stand over the top of the mat, where stems rot. Pour less, or tip some out.",
    },
    "Spots": {
        "spot-unknown": "The farm has no spot of that name. `trayward place` shows them.",
        "spot-taken-since": "Another tray took the spot of a row before it was sown; the new tray is on a free one.",
        "answered-too": "Somebody else answered the same row of a round. Take back the answer that is wrong.",
        "spot-taken": "A spot holds one tray, and another stands there. Name a free one, or say where that one went.",
        "stack-too-high": "More trays at one floor position than the lowest stack of those there allows.",
        "spot-ground": "A stage that wants the dark stands on a lit shelf, or the other way round.",
        "no-spot": "In this stage a tray stands on a shelf, and nobody said where. Say it with `trayward move`.",
        "shelf-name": "A shelf's name is letters or digits without a dot, for instance A1.",
        "spots-in-use": "The shelf would lose spots on which trays stand. Move them first.",
    },
    "Trials": {
        "trial-name": "A trial needs a name: its sowings are marked with it.",
        "trial-levels": "A trial compares at least two levels that differ, each named once.",
        "trial-orders": "Every day of a trial has every level once. Leave the orders out, or give one for each day.",
        "trial-unknown": "The farm has no trial of that name.",
        "trial-changed": "Trays of the trial were sown for other levels. Give the new trial a name of its own.",
    },
    "Seed": {
        "lot-unknown": "The farm has no seed lot of that name. Record its delivery first.",
        "lot-on-order": "The seed is on order and not here yet. Record its delivery first.",
        "lot-twice": "A lot is received once. Name the new delivery apart, or weigh the lot.",
        "lot-crop": "The lot holds another crop than was said. Check the bag.",
        "seed-short": "More seed than the lot holds. Weigh the lot, or name a second one.",
        "seed-stray": "Scale and book differ by much. The scale counts; look for a sowing nobody recorded.",
        "seed-treated": "Treated seed is not for eating fresh. The seed's label decides.",
        "sown-weight": "Far more or less seed on a tray than the recipe wants. Weigh again; strike it if mistyped.",
        "seed-unnamed": "Nobody can trace the sowing to its seed. Name the lot and the grams.",
        "test-half": "A seed test needs both: how many sprouted, of how many.",
        "test-empty": "A seed test must say a result.",
    },
    "Cutting, packing, delivering": {
        "harvest-twice": "A harvest lot's name is used once.",
        "harvest-unknown": "Nothing was cut under that name.",
        "harvest-short": "More than is left of the lot. Weigh what is left, or name another lot too.",
        "harvest-old": "The lot has been in the cold room longer than the crop keeps. When in doubt, throw it away.",
        "cut-crop": "The tray is of another crop than the harvest lot. Cut each crop into its own lot.",
        "cut-early": "The tray was cut before it was ready. Right if you needed it; say when it was ready if it was.",
        "cut-held": "A tray that is held back was cut. Its crop is held, too, until the tray is cleared by name.",
        "held-cut": "Trouble was seen on a tray that was cut before. Its crop is held; see where the rest went.",
        "held-gone": "Trouble was seen on a tray that went to a customer. See where, and tell them when in doubt.",
        "not-held": "A tray was cleared that was not held back. Check its name.",
        "tray-held": "A tray that is held back cannot be delivered. Throw it away, or clear it by name.",
        "harvest-held": "The lot has crop of a tray that is held back. Throw it away, or clear the tray by name.",
        "pack-held": "The packs have crop of a tray that is held back. Throw them away, or clear the tray by name.",
        "cut-weight": "The weight is far from what the recipe reckons with. Weigh again; strike it if it was mistyped.",
        "pack-twice": "A pack lot's name is used once.",
        "pack-unknown": "Nothing was packed under that name. Check the label.",
        "pack-short": "More packs than are left of the lot. Count them.",
        "pack-old": "The pack's best-before day is over. Do not sell it unless you are sure that the date is wrong.",
        "pack-last-day": "A pack was filled on its best-before day or later. Throw it away when in doubt.",
        "pack-weight": "What went in is not what the packs weigh together. Weigh a pack.",
        "pack-crop": "A harvest lot went in that the product has no part of.",
    },
    "Orders": {
        "customer-unknown": "The farm has no customer of that name. Set it up, or check the name.",
        "product-unknown": "The farm neither sells nor grows anything of that name.",
        "order-twice": "An order's name is used once. Change that order, or name this one apart.",
        "order-unknown": "There is no open order of that name.",
        "order-delivered": "The cancelled order was delivered in part already.",
        "line-name": "A line's name has no `/` in it.",
        "line-unknown": "Something was delivered that nobody ordered. Place the order first, or check the line.",
        "line-customer": "The line belongs to another customer. Check both names.",
        "live-crop": "A live tray of another crop went out than was asked for. Strike it if another tray went.",
        "live-unready": "A live tray went out that nobody had called ready. Look whether it was the right one.",
        "line-over": "Well more was delivered than is still open of the line. Right if it was a gift; else strike it.",
        "line-amount": "The amount and the product do not go together, for instance packs of what is sold loose.",
        "line-price": "The line has no price, so the plan values it at nothing.",
        "due-over": "The day it is due was over when it was ordered.",
        "standing-rule": "The rule by which the order repeats cannot be read (RFC 5545).",
        "pause": "The pause ends before it begins.",
    },
    "Tracing and recalls (`trayward trace`, `trayward recall`)": {
        "contact-email": "An e-mail address has no @. Check what was typed.",
        "contact-missing": "A customer of a recall cannot be reached: write down a telephone or an e-mail.",
        "key-data-missing": "Something that a traceability record asks for is not written down.",
        "recall-times": "A recall ended before it began. Check when it began.",
        "recall-twice": "The name of a recall is used once.",
        "trace-broken": "Something is named that the record does not have, for instance after it was struck.",
        "trace-missing": "Less of a harvest lot is told of than was cut. Say where it went, or look for what is struck",
        "trace-missing-packs": "Fewer packs are told of than were filled. Count what is here, or say where they went.",
        "trace-more-out": "More of a harvest lot went out than was cut. Look for a lot or a weight that was mistyped.",
        "trace-more-packs": "More packs went out than were filled. Look for a lot or a count that was mistyped.",
        "trace-stale": "By the record it is still in the cold room, past its days. Most often it was thrown away.",
    },
    "What was earned (`trayward money`)": {
        "seed-cost": "Seed was sown that nobody said the cost of, so it counts as free.",
        "medium-cost": "A recipe's medium and kit cost nothing. Right if you were given it; else give it a cost.",
        "supply-cost": "Feed, soap or sanitiser was used that no delivery says the cost of, so it counts as free.",
        "no-price": "Something was delivered that has no price, so it brings nothing.",
        "no-wage": "Nobody said what an hour of hands costs, so work counts as free.",
        "no-packaging": "Nobody said what a pack costs, so packs count as free.",
        "lamp-watts": "A lamp's watts are not said, so they are reckoned from its light. A meter knows better.",
        "given-more": "More went out than was asked for. It is given; if it is paid for, change the order.",
        "invoice-struck": "What an invoice asks for was struck since, or went out otherwise. Credit it.",
        "invoice-gap": "A number of an invoice is missing. Tell who keeps your books why.",
    },
    "Prices and invoices": {
        "price-steps": "Steps of a price must go up in amount. Check them.",
        "sent-before": "It went out before it was made. Check the day.",
        "rate-unknown": "A rate of tax is named that is not among the rates. Check its name.",
        "seller": "An invoice says who sells: give the seller's name.",
        "buyer": "An invoice says who buys: give the buyer's name.",
        "invoice-number": "Numbers of invoices have no gaps and are used once. Make it again.",
        "invoice-sum": "The lines and taxes of a document do not add up to its total. Make it again.",
        "invoice-unknown": "There is no invoice of that name. `trayward money invoices` lists them.",
        "billed-twice": "What went out is asked for once. Leave out the lines another invoice asks for.",
        "credit-over": "A credit note takes away more than is left of its invoice.",
        "paid-over": "More was paid than is owed. Right if the customer paid ahead; else strike the payment.",
        "reason": "A credit note says why.",
        "currency": "Once something was sold, the currency stays. Begin another book for another one.",
    },
    "What trays teach (`trayward outlook`, `trayward learn`)": {
        "weight-wild": "A weight is more than five times off its fellows, so the outlook leaves it out. Strike a slip.",
        "weight-zero": "A tray was cut and weighed nothing, so it teaches nothing of weight. Strike a slip.",
        "stage-time-odd": "A stage ended before it began, lies ahead, or lasted beyond belief. See the tray's story.",
        "stage-warmth": "The recipe's base temperature and that of its length make no sense: days are counted.",
        "reading-absurd": "A temperature no room of plants has, so it is left out. Strike it if it was Fahrenheit.",
        "reading-clock": "A reading said to be taken at a time that cannot be: a clock set wrong. It is left out.",
        "reading-nowhere": "A reading names no room, and the farm has several: nobody knows whose it is.",
    },
    "Kit": {
        "kit-unknown": "The farm has no pool of that name. Set it up, or correct the recipe.",
        "kit-short": "The book has fewer than that. Record what was stripped, washed or came back, or count them.",
    },
    "Marked kit (`trayward kit mark`)": {
        "mark-unknown": "Nothing of the farm's carries that mark. Check it, or give it to a thing of a pool first.",
        "mark-name": "A mark is a letter and then letters or digits, 16 at most, for instance M1.",
        "mark-twice": "A mark is used once on a farm. Take the next free one.",
        "mark-gone": "What carried the mark was retired or lost. Check the mark, or strike the entry that says so.",
        "mark-in-use": "It is under a tray by the record. Say that the tray was stripped, or take another.",
        "mark-elsewhere": "By the record it was not where this takes it from, so it stays as it is. Check the marks.",
        "marks-many": "More or fewer marks are named than there are things. Name as many as there were.",
        "kit-uncleared": "It was not washed, sanitised or dried as this farm wants before a next use. Do it first, "
        "or take another; follow the label, local codes and licensed practice.",
    },
    "Supplies (`trayward stores`)": {
        "supply-unknown": "The farm has no supply of that name. Check it with `trayward stores`.",
        "supply-name": "A supply needs a name, as on its pack.",
        "supply-lot": "A delivery of a supply needs a name of its own.",
        "supply-unit": "A supply keeps its unit. Set up another under a name of its own.",
        "supply-short": "More was used than the record has. Record the delivery that is missing, or count.",
        "supply-unexplained": "A count found more or less than the record. The count holds from then on.",
        "supply-old": "It was past its day when it came. Check the date on it; send it back if it is right.",
        "offer-supplier": "An offer needs the name of who sells it.",
        "offer-empty": "An offer needs a pack and its price.",
    },
    "Sensors and alarms (`trayward sensors`)": {
        "sensor-name": "A sensor needs a name, for instance cold-room-1.",
        "sensor-place": "A sensor stands somewhere. Name the room, shelf or tank.",
        "sensor-what": "A sensor measures one thing. Give the new one a name of its own.",
        "sensor-limit": "A limit lies outside what such a sensor can show. Check what was typed.",
        "sensor-limits": "The lower limit must be below the upper one.",
        "sensor-time": "How long, or how often, must be above 0. Check what was typed.",
        "sensor-correction": "A correction is a number that is added to what the sensor shows.",
        "sensor-hour": "An hour of readings does not add up: its lowest, mean and highest, or its time.",
        "alarm-unknown": "There is no alarm of that name. `trayward sensors` lists them.",
        "alarm-twice": "An alarm of that name was raised before. It is kept once.",
        "alarm-done": "An answer to an alarm says what was done. Write it in a word or two.",
    },
    "Setting up and saying": {
        "timezone": "The time zone is none of the IANA time zone database, for instance Europe/Dublin.",
        "rounds": "A farm walks at least one round a day.",
        "last-stage": "A recipe's last stage is called `ready`: lit, the tray waits to be cut.",
        "stage-in-use": "The recipe would lose a stage in which trays stand.",
        "shares": "The shares of a mix must add up to 100 %.",
        "amount": "An amount is out of range or no number. Measure it again.",
        "named-twice": "The same thing is named twice in one entry.",
        "nothing-named": "The entry names nothing: no tray, no line, no lot.",
        "photo-name": "A photo is named by the SHA-256 of its bytes. Take it again.",
        "plan": "The plan that was to be kept cannot be read.",
        "reading-hot": "Too hot for seedlings. If it was Fahrenheit, strike it and say it with its unit.",
        "entry-id": "The entry's id is not one the book can keep. The device makes another.",
    },
    "Hygiene records": {
        "record-outside": "A value lies beyond the farm's limit, and nobody said what was done about it.",
        "record-review": "Records wait longer for a review than the farm set.",
        "record-empty": "A record says nothing. Write down what was found.",
        "record-number": "A figure of a record is no number. Measure it again.",
        "review-empty": "A review names no record.",
        "record-times": "The times at which a record is due are out of order, or no days are said. Give them in order.",
        "record-rule": "How often a record is kept is no repeat.",
        "record-limits": "The lower limit lies above the higher one.",
        "record-review-days": "A review within fewer than no days cannot be.",
    },
    "Air and warmth, on the farm and on the bench": {
        "air-wet": "Open trays stand in air within two degrees of its dew point. Move it, warm the room or dry it.",
        "air-dry": "Mats dry out between two rounds in air so dry. Look twice a day and water sooner.",
        "air-warm": "Warmer than trays like: mould gains and some seed fails. Air the room, or light it by night.",
        "air-cool": "Cooler than trays like: they come later. `trayward bench growth warmer` says by how much.",
        "air-near-dew": "The air that was worked out is within two degrees of its dew point.",
        "dehumidifier-small": "By its plate the dehumidifier takes out less than is needed in such air.",
        "dehumidifier-cold": "Nobody measured a dehumidifier in air so cold or dry. Look at the maker's own curve.",
        "outside-wet": "The air outside holds as much water as the room is to hold: no fan can dry it.",
        "shelf-too-hot": "Above the crop's ceiling: little or none of it comes up.",
        "shelf-hot": "Beyond 25 °C more warmth is not counted.",
        "shelf-warm": "Warmer than the crop's best for sprouting: quicker perhaps, but fewer come up.",
        "shelf-cold": "At or below the crop's base temperature nothing moves.",
        "log-unreadable": "Lines of a logger's file could not be read and were left out.",
        "log-absurd": "Temperatures no room of plants has were left out. Say `--fahrenheit` if that is what they are.",
        "log-clock": "Readings not later than the one before were left out: the logger's clock was set back.",
        "log-gaps": "The log has gaps; what they brought is not counted.",
        "warmth-not-told": "The looks do not tell a base temperature: trays on shelves further apart would.",
        "warmth-beyond": "Looks above 25 °C count as 25 °C. Leave hot trays out if unsure.",
    },
    "Recipes (`trayward recipe check`)": {
        "seed-through-mesh": "The dry seed falls through this mesh. Take a finer mat, or coir, hemp or paper.",
        "seed-near-mesh": "Small or slim seed may slip through. Try a spoonful over a white plate first.",
        "gel-seed-soaked": "This seed turns into a lump of gel in water. Sow it dry and mist after.",
        "density-outside": "Far more or less seed than is published for the crop. Try one tray before many.",
        "density-crowded": "More seeds than any trial on record for seed of this weight. Crowded trays rot.",
        "days-outside": "A stage is shorter or longer than is published. Keep it if your own trays say so.",
        "facts-missing": "What the library does not know of the crop, so it was not checked. Set your own figures.",
    },
    "The book (`trayward book verify`)": {
        "book-readings": "Readings of a sensor are not those the book summed. Restore them from a backup.",
        "book-hash": "An entry's text does not fit its hash: it was changed or moved. Restore a clean backup.",
        "book-missing": "Entries are missing.",
        "book-order": "An entry carries a number that none can have.",
        "book-end": "The book does not end where it says that it ends.",
        "book-text": "An entry's text cannot be read.",
        "book-column": "A column says another thing than the entry's text.",
        "book-file": "The database says that its file is damaged.",
        "book-unreadable": "The book could not be read to its end.",
        "book-more": "There is more; the look was broken off.",
        "book-look-up": "A look-up made from the entries is wrong. `trayward book rebuild` makes it anew.",
        "book-photo": "A photo is damaged, or one that an entry names is missing. Restore a clean backup.",
        "book-guard": "What keeps the database from changing entries is off. `trayward book rebuild` sets it.",
    },
    "The bench": {
        "bath-off": "A bath for seed was too cold, too hot or too short. Seed of it is not treated, or may be hurt.",
        "chlorine-ph": "At this pH little of the chlorine acts quickly. Lower it as the label says.",
        "sanitiser-too-strong": "Above the rule for what food touches. Mix it weaker, rinse, or do as the label says.",
        "water-hot-for-sanitiser": "Hot water drives fumes off a sanitiser and weakens it. Take cool water.",
        "efficacy-high": "Hardly any lamp gives so much light for its watts. Read the sheet again.",
        "lamp-no-point": "So near, a lamp is no point, and distance does not tell its light. Work out the map.",
        "light-far-off": "What a meter read on the shelf is far from what its lamps should give. Look at both.",
        "repeats-apart": "The repeats of a germination test differ by more than chance. Test again.",
        "weights-vary": "Repeats of a count and weighing differ too much for a mean. Count again, take a finer scale.",
        "seed-falls-through": "Much of the seed falls through this mesh. Take a finer one, or a closed medium.",
        "seed-store-damp": "The store is too warm and damp for seed to keep. Keep it cooler or drier.",
        "sown-beyond-plan": "More trays than the plan still asked for. If somebody else sowed them, strike one sowing.",
        "sown-dense": "Crowded seed of this size often rots before it is cut. Try less on one tray.",
        "sprouts-few": "Less than half of the seed sprouts; the rest rots on the mat. Test again, or buy new seed.",
        "sown-unlike-print": "Far more or less seed for a tray than is printed. Check unit, tray and seed weight.",
        "spread-clumped": "The seed lies in clumps, beyond chance. Spread it crosswise in two passes.",
        "below-cost": "A price is less than what the thing costs. Ask more, or see what moves its cost most.",
        "rent-twice": "Rent counts for each shelf and again among the fixed costs. Leave one of them out.",
    },
}


def said(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """Code and severity of every finding that a module makes."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Dict):
            names = [target.id for target in node.targets if isinstance(target, ast.Name) and target.id in TABLES]
            keys = [key for key in node.value.keys if isinstance(key, ast.Constant)]
            yield from ((str(key.value), TABLES[name]) for name in names for key in keys)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            name, words = node.func.id, {word.arg: word.value for word in node.keywords}
            code, severity = words.get("code"), words.get("severity")
            if name == "Finding" and isinstance(code, ast.Constant):
                yield from ((str(code.value), each) for each in _either(severity))
            elif name in SAYS:
                yield from [(str(word.value), SAYS[name]) for word in node.args[:2] if isinstance(word, ast.Constant)][
                    :1
                ]


def _either(severity: ast.expr | None) -> Iterator[str]:
    """A severity, or both of `"odd" if near else "wrong"`."""
    branches = (severity.body, severity.orelse) if isinstance(severity, ast.IfExp) else (severity,)
    yield from (str(each.value) for each in branches if isinstance(each, ast.Constant))


@cache
def codes(source: Path = SOURCE) -> dict[str, set[str]]:
    """Every code of the source with its severities; the source is read once."""
    found: dict[str, set[str]] = {}
    for path in sorted(source.rglob("*.py")):
        for code, severity in said(ast.parse(path.read_text(encoding="utf-8"))):
            found.setdefault(code, set()).add(severity)
    return found


def gaps() -> list[str]:
    """Codes without words, and words for codes that nothing says."""
    told, known = {code for group in GROUPS.values() for code in group}, set(codes())
    return [f"{code}: no words" for code in sorted(known - told)] + [
        f"{code}: is gone" for code in sorted(told - known)
    ]


def page() -> str:
    """The whole page."""
    severities = codes()
    parts = [INTRO]
    for title, group in GROUPS.items():
        rows = [
            f"| `{code}` | {' or '.join(sorted(severities.get(code, ())))} | {words} |" for code, words in group.items()
        ]
        parts.append(
            f"## {title}\n\n| code | severity | what it is, what to do |\n|---|---|---|\n" + "\n".join(rows) + "\n"
        )
    return "\n".join(parts)
