"""What a setup file says of the farm itself: its day, money, places, kit, crops' own figures and seed."""

from __future__ import annotations

import re
from datetime import time
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from trayward.dates import WEEKDAYS
from trayward.desk.setup.paper import read_paper
from trayward.desk.setup.table import Table
from trayward.desk.setup.water import read_water
from trayward.errors import InputError
from trayward.farm.entries import CropFactSet, SeedReceived
from trayward.farm.kit import Clearing, Pool
from trayward.farm.places import Lamp, Shelf
from trayward.farm.settings import USUAL_SETTINGS, AlarmMail, FarmSettings, Money, Overhead, RoundTime, ShownUnits
from trayward.sensors.addresses import alarm_mail_of
from trayward.units import parse_mass, parse_minutes, parse_share, parse_temperature

WORK_DAYS = tuple(day.lower() for day in WEEKDAYS)
AS_THEY_COME = "as they usually come"
SPOT_ORDERS = ("once placed", AS_THEY_COME)
"""From when on the plan grows for orders of a single day: once they are placed, or before, as they usually come."""
MOST_CALM = 10_000.0
"""No gain of a tray is worth more. [currency/tray]"""
Week = tuple[float, float, float, float, float, float, float]


def parse_hours(text: str) -> float:
    """Hours from words such as "12 h", "90 min" or "2 d". [h]"""
    return parse_minutes(text, default="h") / 60.0


def parse_days(text: str) -> float:
    """Days from words such as "2 d" or "36 h". [d]"""
    return parse_minutes(text, default="d") / 1440.0


# The farm -------------------------------------------------------------------------------------------------------------


def read_settings(root: Table) -> FarmSettings:
    """The `[farm]` table and those below it."""
    farm = root.table("farm")
    if farm is None:
        root.missing("farm", "Begin with [farm] and a name.")
        return USUAL_SETTINGS
    money, calm = _money(farm)
    settings = FarmSettings(
        name=farm.text("name", None, remedy="Give the farm a name."),
        timezone=_timezone(farm),
        sells=farm.flag("sells", True),
        units=_units(farm),
        rounds=_rounds(farm),
        work_minutes=_work(farm),
        days_off=farm.days("days_off"),
        money=money,
        caution=farm.amount("caution", parse_share, "as a share", 0.8, low=0.5, high=0.99),
        calm=calm,
        plan_spot_orders=farm.choice("spot_orders", SPOT_ORDERS, SPOT_ORDERS[0]) == AS_THEY_COME,
        water=read_water(farm),
        rules=farm.text("rules"),
        paper=read_paper(farm),
        alarm_mail=_alarm_mail(farm),
    )
    farm.finish()
    return settings


def _alarm_mail(farm: Table) -> AlarmMail:
    """Who is told of alarms by e-mail."""
    table = farm.table("alarms")
    if table is None:
        return AlarmMail()
    language = table.choice("language", ("en", "es"), "en")
    to = table.texts("mail")
    table.finish()
    try:
        return alarm_mail_of(to, language)  # type: ignore[arg-type]
    except InputError as error:
        table.wrong("mail", error.rule, error.remedy, error.value)
        return AlarmMail()


def _timezone(farm: Table) -> str:
    name = farm.text("timezone", "UTC")
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        farm.wrong("timezone", "is no zone of the IANA time zone database", 'Write for instance "Europe/Dublin".')
        return "UTC"
    return name


def _units(farm: Table) -> ShownUnits:
    table = farm.table("units")
    if table is None:
        return ShownUnits()
    units = ShownUnits(
        mass=table.choice("mass", ("g", "oz"), "g"),  # type: ignore[arg-type]
        volume=table.choice("volume", ("ml", "cup"), "ml"),  # type: ignore[arg-type]
        temperature=table.choice("temperature", ("C", "F"), "C"),  # type: ignore[arg-type]
        length=table.choice("length", ("mm", "in"), "mm"),  # type: ignore[arg-type]
    )
    table.finish()
    return units


def _rounds(farm: Table) -> tuple[RoundTime, ...]:
    table = farm.table("rounds")
    if table is None:
        return USUAL_SETTINGS.rounds
    rounds = [RoundTime(name=name, at=_clock(table, name)) for name in table.values]
    if not rounds:
        farm.wrong("rounds", "there must be at least one round a day", 'Write for instance morning = "7:00".')
    return tuple(sorted(rounds, key=lambda entry: entry.at))


def _clock(table: Table, key: str) -> time:
    value = table.raw(key)
    if isinstance(value, time):
        return value
    found = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", value.strip()) if isinstance(value, str) else None
    if found is None:
        table.wrong(key, "must be a time of day", 'Write for instance "7:00" or "19:30".')
        return time(0, 0)
    return time(int(found[1]), int(found[2]))


def _work(farm: Table) -> Week:
    table = farm.table("work")
    if table is None:
        return USUAL_SETTINGS.work_minutes
    usual = _minutes(table, "every_day", None)
    week = [_minutes(table, day, usual) for day in WORK_DAYS]
    for day, minutes in zip(WORK_DAYS, week, strict=True):
        if minutes is None:
            table.missing(day, 'Say how long hands work that day, for instance "4 h", or "off".')
    table.finish()
    mon, tue, wed, thu, fri, sat, sun = (minutes or 0.0 for minutes in week)
    return mon, tue, wed, thu, fri, sat, sun


def _minutes(table: Table, key: str, default: float | None) -> float | None:
    if not table.has(key):
        return default
    if table.raw(key) in ("off", 0):
        return 0.0
    return table.amount(key, parse_minutes, "minutes", low=0.0, high=7 * 24 * 60.0)


def _money(farm: Table) -> tuple[Money, float]:
    """What things cost and bring, and for what gain a tray sown today or tomorrow may still be planned otherwise."""
    usual, calm = Money(), USUAL_SETTINGS.calm
    table = farm.table("money")
    if table is None:
        return usual, calm
    currency = table.text("currency", usual.currency)
    if not re.fullmatch(r"[A-Z]{3}", currency):
        table.wrong("currency", "must be three capital letters (ISO 4217)", 'Write for instance "EUR".')
    money = Money(
        currency=currency,
        wage_h=table.number("wage_h", 0.0, unit="an hour"),
        energy_kwh=table.number("energy_kwh", 0.0, unit="a kWh"),
        packaging=table.number("packaging", 0.0, unit="a pack"),
        disposal_kg=table.number("disposal_kg", 0.0, unit="a kg"),
        shortfall=table.number("shortfall", usual.shortfall, unit="times the sale value"),
        worth_home_100g=table.number("worth_home_100g", usual.worth_home_100g, unit="for 100 g"),
        overheads=_overheads(table),
    )
    calm = table.number("calm", calm, high=MOST_CALM, unit="a tray")
    table.finish()
    return money, calm


def _overheads(money: Table) -> tuple[Overhead, ...]:
    """What comes every month, by its name."""
    table = money.table("overheads")
    if table is None:
        return ()
    found = tuple(Overhead(name=name, month=table.number(name, 0.0, unit="a month")) for name in table.values)
    table.finish()
    return found


# Places and kit -------------------------------------------------------------------------------------------------------


def read_shelves(root: Table) -> list[Shelf]:
    """The `[[rack]]` tables with their `[[rack.shelf]]`, in walking order."""
    shelves: list[Shelf] = []
    for rack in root.tables("rack"):
        name = rack.text("name", None, remedy="Give the rack a name, for instance A.")
        room = rack.text("room", "")
        made: list[Shelf] = []
        for table in rack.tables("shelf"):
            made += _shelves(table, name, room, len(made), len(shelves) + len(made))
        if not made:
            rack.missing("shelf", "Write [[rack.shelf]] with kind and spots below it.")
        shelves += made
        rack.finish()
    if not shelves:
        root.missing("rack", "Write [[rack]] and [[rack.shelf]]: trays need spots to stand on.")
    return shelves


def _shelves(table: Table, rack: str, room: str, before: int, order: int) -> list[Shelf]:
    """The shelves one table stands for: one, or `count` alike, named by the rack and their number."""
    kind = table.choice("kind", ("dark", "lit"), None)
    spots = table.whole("spots", low=1, high=200)
    stack = table.whole("stack", 1, low=1, high=26)
    count = table.whole("count", 1, low=1, high=50)
    own = table.text("name", "")
    lamp = _lamp(table)
    _check_shelf(table, kind, stack, count, own, lamp)
    table.finish()
    return [
        Shelf(
            name=own or f"{rack}{before + number + 1}",
            rack=rack,
            room=room,
            kind=kind,  # type: ignore[arg-type]
            spots=spots,
            stack=stack,
            order=order + number + 1,
            lamp=lamp,
        )
        for number in range(count)
    ]


def _check_shelf(table: Table, kind: str, stack: int, count: int, own: str, lamp: Lamp | None) -> None:
    if kind == "lit" and stack > 1:
        table.wrong("stack", "a lit shelf takes no stacks: the upper tray would take the light", "Leave stack out.")
    if kind == "dark" and lamp is not None:
        table.wrong("lamp", "a dark shelf has no lamp", 'Leave the lamp out, or write kind = "lit".')
    if own and count > 1:
        table.wrong("name", "several shelves cannot share one name", "Leave the name out: they are numbered.")
    if "." in own or "/" in own:
        table.wrong("name", "may not hold . or /, which spot names use", "Use letters, digits, blanks or dashes.")


def _lamp(shelf: Table) -> Lamp | None:
    table = shelf.table("lamp")
    if table is None:
        return None
    lamp = Lamp(
        count=table.whole("count", 1, low=1, high=100),
        watts=table.number("watts", 0.0, unit="W"),
        umol_s=table.number("umol_s", unit="umol/s") if table.has("umol_s") else None,
        hours=table.amount("hours", parse_hours, "hours", 16.0, high=24.0),
    )
    table.finish()
    return lamp


def read_pools(root: Table) -> list[Pool]:
    """The `[[kit]]` tables."""
    return [_pool(table) for table in root.tables("kit")]


def _pool(table: Table) -> Pool:
    pool = Pool(
        name=table.text("name", None, remedy="Give the kit a name, for instance mesh tray."),
        count=table.whole("count", high=100_000),
        dry_hours=table.amount("dry", parse_hours, "hours", 12.0, high=336.0),
        minutes_wash=table.amount("wash", parse_minutes, "minutes", 0.0),
        sanitise=table.flag("sanitise", False),
        wear=table.number("wear", 0.0, unit="a use"),
        lasts_uses=table.whole("lasts", 0, high=100_000),
        clearing=_clearing(table),
    )
    table.finish()
    return pool


def _clearing(table: Table) -> Clearing:
    """What must happen to kit before its next use, where the file says so."""
    said: dict[str, float] = {}
    if table.has("rinse"):
        said["rinse_c"] = table.amount("rinse", parse_temperature, "C", high=100.0)
    if table.has("ppm_least"):
        said["ppm_least"] = table.number("ppm_least", high=100_000.0, unit="ppm")
    if table.has("ppm_most"):
        said["ppm_most"] = table.number("ppm_most", high=100_000.0, unit="ppm")
    if table.has("contact"):
        said["contact_min"] = table.amount("contact", parse_minutes, "minutes", high=1440.0)
    if table.has("agent_water_least"):
        said["water_least_c"] = table.amount("agent_water_least", parse_temperature, "C", high=100.0)
    if table.has("agent_water_most"):
        said["water_most_c"] = table.amount("agent_water_most", parse_temperature, "C", high=100.0)
    return Clearing(
        steps=table.texts("steps"), after_mould=table.flag("after_mould", False), refuse=table.flag("refuse", False),
        **said,
    )  # fmt: skip


# Crops and seed -------------------------------------------------------------------------------------------------------


def read_crop_facts(root: Table, known: tuple[str, ...]) -> list[CropFactSet]:
    """The `[crop.NAME]` tables: this farm's own figures, by the column names of the crop table."""
    crops = root.table("crop")
    found: list[CropFactSet] = []
    for crop in crops.values if crops is not None else ():
        table = crops.table(crop) if crops is not None else None
        if table is None:
            continue
        note = table.text("note", "")
        columns = [column for column in table.values if column != "note"]
        found += [_crop_fact(table, crop, column, known, note) for column in columns]
    return found


def _crop_fact(table: Table, crop: str, column: str, known: tuple[str, ...], note: str) -> CropFactSet:
    value = table.raw(column)
    if column not in known:
        table.asked = set(known)
        table.wrong(column, "is no column of the crop table", f"Known: {', '.join(known)}.")
        table.asked.add(column)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        table.wrong(column, "must be a number or a word", "Write for instance tsw_g_typ = 3.2.")
        value = 0.0
    return CropFactSet(crop=crop, name=column, value=value if isinstance(value, str) else float(value), note=note)


def read_seed(root: Table) -> list[SeedReceived]:
    """The `[[seed]]` tables: lots on the seed shelf, and lots on order (`expected`)."""
    return [_seed_lot(table) for table in root.tables("seed")]


def _seed_lot(table: Table) -> SeedReceived:
    lot = SeedReceived(
        lot=table.text("lot", None, remedy="Give the lot a name of your own."),
        crop=table.text("crop", None, remedy="Name the crop."),
        grams=table.amount("amount", parse_mass, "g"),
        variety=table.text("variety"),
        supplier=table.text("supplier"),
        supplier_lot=table.text("supplier_lot"),
        germination=table.amount("germination", parse_share, "as a share", low=0.01, high=1.0)
        if table.has("germination")
        else None,
        tsw_g=table.amount("tsw", parse_mass, "g", low=0.01, high=2000.0) if table.has("tsw") else None,
        cost=table.number("cost", 0.0),
        treated=table.flag("treated", False),
        document=table.text("document"),
        expected_on=table.day("expected", needed=False),
    )
    if lot.treated:
        remedy = "Keep treated seed out of a farm whose crop is eaten fresh; the seed label decides."
        table.wrong("treated", "treated seed is not for eating fresh", remedy)
    table.finish()
    return lot
