"""What the keys of a setup file say, in a grower's words; kinds, bounds and defaults come from the reader itself."""

from __future__ import annotations

from typing import NamedTuple

Words = str | tuple[str, str, str]
"""What a key says; or what it holds, what counts if it is left out, and what it says, where the reader cannot tell."""
LIBRARY = "as the library has it"


class Described(NamedTuple):
    """A table of the file with the words for its keys."""

    table: str
    title: str
    words: str
    keys: dict[str, Words]
    own_keys: bool = False
    """Its keys are names of the grower's own."""


def from_library(holds: str, says: str) -> tuple[str, str, str]:
    """A key that keeps the library's word when it is left out."""
    return holds, LIBRARY, says


MINUTES = ('time, such as `"5 min"`, 0 to 600; a plain number is in minutes', LIBRARY)
EC = 'EC, such as `"1.2 dS/m"`, `"1200 uS/cm"` or `"600 ppm 500"`; a plain number is in dS/m'
MONEY = ('amount of money, such as `31.00` or `"31.00"`', "not known")
LIMIT = (
    'value, such as `5`, `"5 C"` or `"41 F"`; a plain number is in the unit of what it measures',
    "none",
)
OFFER: dict[str, Words] = {
    "supplier": "Who sells it.",
    "packs": (
        "list of words",
        "needed",
        'What a pack holds and its price, and from so many packs on: `"1 kg 14.00"`, `"1 kg 12.50 from 4"`.',
    ),
    "lead": "How long it takes to come.",
    "delivery": (MONEY[0], "0", "What each order costs besides."),
}
DAY = ('time, such as `"4 h 30 min"`, or `"off"`', "what `every_day` says")

TABLES = (
    Described(
        "",
        "The tables",
        "A farm needs `[farm]`, one `[[rack]]` and one `[[recipe]]`; the rest as you come to need it.",
        {
            "farm": ("table", "needed", "The farm as a whole."),
            "rack": ("tables", "needed", "Where trays stand, in walking order."),
            "kit": "What trays are grown in and under.",
            "medium": "What crops grow on, beside the library's: mesh mat, coir, soil, hemp mat, paper.",
            "crop": "Your own figures of a crop, by its name.",
            "every_recipe": "What all recipes share: keys of a recipe, but not name, crop, medium or `from_library`.",
            "recipe": ("tables", "needed", "How each crop is raised."),
            "product": "What you sell. A crop's own name can always be ordered by the gram.",
            "customer": "Who eats it.",
            "standing": "Orders that repeat.",
            "order": "Orders for one day.",
            "seed": "Seed on the shelf, and seed on order.",
            "supply": "What else you buy and use up: medium, packaging, feed, agents.",
            "seed_offer": "What suppliers ask for seed.",
            "sensor": "What measures air, water and cold rooms.",
            "record": "How often hygiene records are written down.",
        },
    ),
    Described(
        "farm",
        "`[farm]`",
        "The farm as a whole. Its `rounds`, `work`, `money` and `units` are tables of their own.",
        {
            "name": "What the farm is called.",
            "timezone": "Its clock, by the IANA time zone database: Europe/Dublin, America/Chicago.",
            "sells": "Whether you sell any of it.",
            "caution": "How often the plan wants to meet an order in full: at 80 % in 8 of 10 cases, where there is "
            "room and seed for it.",
            "spot_orders": "From when on the plan grows for orders of a single day: once they are placed, or before "
            "that, as they usually come.",
            "days_off": "Single days without sowing, cutting, washing or deliveries.",
            "rules": "What you answered on the page Rules, as its address has it.",
            "rounds": ("table", "morning 7:00, evening 19:00", "When you walk."),
            "work": ("table", "4 h every day", "How long hands work."),
            "money": "What things cost and bring.",
            "units": "The units you read.",
            "water": "The water you water with, its acid and its feed.",
            "alarms": "Who is told of alarms by e-mail.",
            "paper": "What stands on sheets and labels.",
        },
    ),
    Described(
        "farm.rounds",
        "`[farm.rounds]`",
        "The walks of a day, each by a name of your own and when it begins.",
        {"NAME": ("time of day, `7:00` or `19:30`", "may be left out", 'For instance `morning = "7:00"`.')},
        own_keys=True,
    ),
    Described(
        "farm.work",
        "`[farm.work]`",
        "How long hands may sow, cut and wash, day by day. The plan asks for no more. A day `off` has rounds, for "
        "trays want looking after, and nothing else.",
        {
            "every_day": (DAY[0], "say every weekday", "Every day that is not named below."),
            **{
                day: (*DAY, f"{name}.")
                for day, name in zip(
                    ("mon", "tue", "wed", "thu", "fri", "sat", "sun"),
                    ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays"),
                    strict=True,
                )
            },
        },
    ),
    Described(
        "farm.alarms",
        "`[farm.alarms]`",
        "Who is told of alarms by e-mail, as on the page Sensors. Left out, it stays as it is. By which server, and "
        "its password, is said on the machine: see Read sensors.",
        {
            "mail": ("list of words", "none", "E-mail addresses, at most ten."),
            "language": ('one of `"en"`, `"es"`', '"en"', "Language of the mails."),
        },
    ),
    Described(
        "farm.paper",
        "`[farm.paper]`",
        "What stands on sheets and labels, in your own words. What has to be on a label of food you sell is said by "
        "your local codes.",
        {
            "size": ('one of `"A4"`, `"Letter"`', "as your units suggest", "Your printer's paper."),
            "address": ("list of words", "none", "Lines under the farm's name, on labels, notes and invoices."),
            "storage": ("words", '"Keep cold."', "How a pack is to be stored."),
            "words": "Your own wording on pack labels.",
            "web": "Address of your pages; a label's code then leads to the pack's own page there.",
            "gs1_prefix": ("figures", "none", "Your GS1 company prefix; labels then may carry GS1 codes."),
            "gs1_items": ("table", "none", "The item reference of each product, by its name."),
        },
    ),
    Described(
        "farm.paper.gs1_items",
        "`[farm.paper.gs1_items]`",
        "The item reference of each product that has one, by the product's name; with the prefix it makes its GTIN.",
        {"radish": "For instance; the name of any product. Figures, as many as fit beside the prefix."},
        own_keys=True,
    ),
    Described(
        "farm.water",
        "`[farm.water]`",
        "The water you water with. With it, rounds say how much feed and acid a litre takes, and a reading out of "
        "range is told with what mends it. Acids burn: the label, local codes and licensed practice go before any "
        "figure.",
        {
            "ph": "pH of the plain water.",
            "alkalinity": (
                'amount, such as `"180 mg/l"`, `"3.6 meq/l"`, `"220 mg/l hco3"` or `"10 dkh"`, 0 to 1000; a plain '
                "number is in mg/l",
                "needed",
                "What it holds against acid, as calcium carbonate unless said: test it, or ask the water company.",
            ),
            "ec": (EC, "not known", "EC of the plain water, at 25 C."),
            "temperature": ('temperature, such as `"18 C"`, 0 to 50', "20 C", "Of the water as it is mixed."),
            "calcium": "Calcium, if you know it: with citric acid a quarter less does in hard water.",
            "magnesium": "Magnesium, if you know it.",
            "acid": (
                "words",
                "may be left out",
                'Acid or base as its label says: `"citric 50 %"`, `"phosphoric 75 % 1.58"` (with its density), '
                '`"nitric 2 mol/l"`, `"citric powder"`.',
            ),
            "feed": "What the feed is called.",
            "feed_adds": (EC, "may be left out", "What 1 ml of the feed adds to the EC of a litre."),
            "feed_ec": (
                f"{EC}, or a list of 2",
                "may be left out",
                "The EC that the feed mix is to have, from and to.",
            ),
        },
    ),
    Described(
        "farm.money",
        "`[farm.money]`",
        "In the farm's currency. The plan weighs sales against these; prices you leave at 0 count as free.",
        {
            "currency": "Three letters (ISO 4217).",
            "wage_h": "An hour of hands.",
            "energy_kwh": "A kilowatt hour, for the lamps.",
            "packaging": "A pack with its label.",
            "disposal_kg": "Throwing a kilogram away.",
            "shortfall": "How much a gram not delivered hurts, as a multiple of its price, on top of the sale lost.",
            "worth_home_100g": "What 100 g on your own table is worth to you.",
            "overheads": ("table", "none", "What comes every month: rent, water, insurance."),
            "calm": "What a tray more or less, today or tomorrow, must bring for a new plan to change what the plan "
            "before it said of these days. 0: never keep to the plan before.",
        },
    ),
    Described(
        "farm.money.overheads",
        "`[farm.money.overheads]`",
        "What comes every month whether you sow or not, each under a name of your own: `rent = 350`. It is spread over "
        "the trays by the days they stand on a spot.",
        {"rent": "For instance; any name will do. What it comes to in a month."},
        own_keys=True,
    ),
    Described(
        "farm.units",
        "`[farm.units]`",
        "What amounts are shown in. Any unit may be typed, whatever stands here.",
        {
            "mass": "Weights.",
            "volume": "Volumes.",
            "temperature": "Temperatures.",
            "length": "Lengths.",
        },
    ),
    Described(
        "rack",
        "`[[rack]]`",
        "Racks in walking order.",
        {
            "name": "Short: shelves and spots are named after it.",
            "room": "Where it stands.",
            "shelf": ("tables", "needed", "Its shelves, in walking order."),
        },
    ),
    Described(
        "rack.shelf",
        "`[[rack.shelf]]`",
        "A shelf, or several alike. Shelves are named by rack and number: `D1`, `D2`, ...; spots `D1.1`, or `D1.1a` "
        "and `D1.1b` where trays stack.",
        {
            "kind": "Whether it is dark or has light.",
            "spots": "Trays side by side.",
            "stack": "How high trays may stand on each other; dark shelves only.",
            "count": "How many shelves alike.",
            "name": ("words", "rack and number", "A name of its own, where `count` is 1. Without `.` or `/`."),
            "lamp": "The light over it; lit shelves only.",
        },
    ),
    Described(
        "rack.shelf.lamp",
        "`lamp = { ... }` of a shelf",
        "Mains power near water: defer to the lamp's label, local codes and licensed practice.",
        {
            "count": "Lamps over the shelf.",
            "watts": "Power of one lamp.",
            "umol_s": ("number, umol/s", "may be left out", "Photons of one lamp, if its sheet says so."),
            "hours": "Hours of light a day.",
        },
    ),
    Described(
        "kit",
        "`[[kit]]`",
        "A pool of like things. The library's recipes ask for `mesh tray`, `solid tray`, `cover`, and the mat by "
        "the name of its medium.",
        {
            "name": "What it is called in recipes.",
            "count": "How many there are in all.",
            "dry": "From washing until it may be used again.",
            "wash": "Time to wash one, where the recipe does not count it.",
            "sanitise": "Whether it is sanitised, too, before its next use. Defer to the label of what you use, local "
            "codes and licensed practice.",
            "wear": "Cost of one use.",
            "lasts": "Uses that one is expected to last; 0: not said.",
            "steps": "Your own steps of a washing, in order; none may be left out.",
            "rinse": "The rinse is at least this warm; a washing without it written down clears nothing.",
            "ppm_least": "Your agent is measured at least this strong. The label and local codes go first.",
            "ppm_most": "And no stronger than this.",
            "contact": "Your agent stays on at least this long.",
            "agent_water_least": "The agent's water is at least this warm.",
            "agent_water_most": "And no warmer than this.",
            "after_mould": "True: what held a tray with suspected mould is sanitised before its next use.",
            "refuse": "True: nothing is sown on what is not cleared. False: it is said, and kept.",
        },
    ),
    Described(
        "medium",
        "`[[medium]]`",
        "A medium of your own, or one of the library's with your own figures.",
        {
            "name": "What recipes call it.",
            "reusable": "Whether it is washed and used again. It then wants a `[[kit]]` of its name.",
            "aperture": (
                'length, such as `"1 mm"`, at least 0.05',
                "no mesh",
                "Clear opening of a mesh, so that seed which falls through is found out.",
            ),
            "square_holes": "False for round holes.",
            "cost": "A tray of it, or one use where it is reusable.",
            "top": (
                'length, such as `"12 mm"`, 0.5 to 300',
                "not measured",
                "How high its top lies above the bottom that the water stands on. The round then says how much water "
                "reaches it, and never asks for more.",
            ),
        },
    ),
    Described(
        "crop.NAME",
        "`[crop.NAME]`",
        "Your own figures of a crop. They go before the library's: `trayward crop facts broccoli` shows both.",
        {
            "COLUMN": (
                "number or word",
                "as the library has it",
                "A figure by its column of the crop table, for instance "
                "`tsw_g_typ`, `bulk_density_g_per_ml`, `germ_pct_usual`, `seed_lead_days`.",
            ),
            "note": "Where they come from.",
        },
        own_keys=True,
    ),
    Described(
        "recipe",
        "`[[recipe]]`",
        "One crop on one medium. What is not said here, or in `[every_recipe]`, stays as the library has it.",
        {
            "crop": "Its crop. `trayward crop` lists those of the library.",
            "medium": ("a medium's name", '`"mesh mat"`', "What it grows on."),
            "name": ("words", "`CROP on MEDIUM`", "What the recipe is called."),
            "from_library": "False: the library is left aside and everything is said here.",
            "density": from_library(
                "number, 0.01 to 60, live seeds per cm2",
                "Live seeds on each square centimetre; the grams follow from the lot's own figures.",
            ),
            "soak": from_library('time, such as `"8 h"`, 0 to 72 hours', "How long the seed is soaked."),
            "yield": from_library(
                'list of 3 or 1 from low to high; each a weight, such as `"165 g"`',
                "What a tray weighs: low, likely and high (8 of 10 lie between), or one likely weight.",
            ),
            "yield_source": "Where the yield comes from.",
            "cut_window": from_library(
                'time in whole days, such as `"2 d"`, 1 to 60', "How long a ready tray may stand."
            ),
            "growth": from_library('share, such as `"4 %"`', "Weight gained each day it stands ready."),
            "cold_room": from_library(
                'time in whole days, such as `"7 d"`, 0 to 60', "How long the cut crop keeps cold."
            ),
            "cut_height": from_library("list of 2 lengths", "Where it is cut, above the medium."),
            "feed_ph": from_library("list of 2 numbers", "The feed's pH, from and to."),
            "minutes": from_library("table", "Hands' work a tray."),
            "kit": from_library("tables", "What a tray holds of the kit."),
            "tray": from_library("table", "The tray's inside."),
            "stage": from_library("tables by name", "Stages that are different."),
            "note": from_library("words", "Anything worth knowing."),
        },
    ),
    Described(
        "recipe.minutes",
        "`minutes = { ... }` of a recipe",
        "Hands' work for one tray. The plan counts them against the day's work.",
        {
            "sow": (*MINUTES, "Sowing."),
            "look": (*MINUTES, "One look on a round."),
            "cut": (*MINUTES, "Cutting, weighing, packing."),
            "wash": (*MINUTES, "Stripping and washing."),
        },
    ),
    Described(
        "recipe.kit",
        "`kit = [{ ... }]` of a recipe",
        "What one tray holds while it grows.",
        {
            "pool": "Which `[[kit]]`.",
            "each": "How many of it.",
            "stages": ("list of words", "until it is stripped", "In which stages it is held."),
        },
    ),
    Described(
        "recipe.tray",
        "`tray = { ... }` of a recipe",
        'The inside of the tray, measured. The trade\'s "1020" is nominally 10 x 20 in; real ones differ.',
        {
            "name": ("words", '`"1020"`', "What it is called."),
            "length": ('length, such as `"20 in"`, 50 to 3000 mm', "508 mm", "Inside length."),
            "width": ('length, such as `"10 in"`, 50 to 3000 mm', "254 mm", "Inside width."),
            "depth": ('length, such as `"30 mm"`, 5 to 300 mm', "30 mm", "Inside depth."),
        },
    ),
    Described(
        "recipe.stage.NAME",
        "`[recipe.stage.NAME]`",
        "One stage of a recipe. The library's are `soak` (in a jar on the bench), `germinate`, `blackout`, `light` and "
        "`ready`; the last is always `ready`. A name the library does not have is put in before `ready`.",
        {
            "days": from_library(
                'list of 3 or 1 from low to high; each a time, such as `"2 d"`',
                "How long it lasts: low, "
                "likely, high (8 of 10 lie between), or one length. Needed for a stage of your own.",
            ),
            "ground": from_library(
                'one of `"bench"`, `"dark"`, `"lit"`',
                "Where the tray stands; on the bench it takes no spot. Needed for a stage of your own.",
            ),
            "cue": from_library("words", "A question eyes can answer; a yes ends the stage. Empty: the clock ends it."),
            "do": from_library("words", "What to do when it begins."),
            "cover": from_library('one of `"none"`, `"weight"`, `"blackout"`', "What lies on the tray."),
            "weight": from_library('weight, such as `"2.3 kg"`, 0 to 50 kg', "Weight on the cover."),
            "stack": from_library("whole number, 1 to 26", "How high such trays stand on each other; 1: not stacked."),
            "water": from_library('one of `"none"`, `"soak"`, `"mist"`, `"below"`', "How it is watered."),
            "water_ml": from_library('volume, such as `"1/4 cup"`, 0 to 20 l', "The usual amount at one watering."),
            "minutes": from_library('time, such as `"1 min"`, 0 to 600', "Hands' work a tray when it begins."),
            "skip": "True: this farm does without the stage.",
        },
    ),
    Described(
        "product",
        "`[[product]]`",
        "Something you sell: one crop, a mix by share, or a live tray.",
        {
            "name": "What it is called in orders.",
            "crop": ("words", "needed, unless there are `parts`", "Its crop; a recipe must grow it."),
            "parts": ("table", "needed, unless there is a `crop`", "The crops of a mix with their shares."),
            "pack": ('weight, such as `"50 g"`, at least 1 g', "sold loose", "What one pack holds."),
            "live": "True: sold as a tray that still grows.",
            "price": (
                'words such as `"4.20 per 100 g"`, `"38 per kg"`, `"3.50 per pack"`, `"15 per tray"`',
                "0",
                "Its price; a plain number is for the way it is sold.",
            ),
        },
    ),
    Described(
        "product.parts",
        "`parts = { ... }` of a product",
        "Shares by weight; they add up to 100 %.",
        {"CROP": ('share, such as `"40 %"`', "may be left out", "A crop of the mix.")},
        own_keys=True,
    ),
    Described(
        "customer",
        "`[[customer]]`",
        "Who eats it.",
        {
            "name": "What they are called in orders.",
            "home": "True: your own table. It is worth what `worth_home_100g` says.",
            "weight": "How much letting them down counts, against 1.",
            "spot_orders": "Whether they may order beside their standing orders.",
            "note": "Anything worth knowing.",
        },
    ),
    Described(
        "standing",
        "`[[standing]]`",
        "An order that repeats until it is changed.",
        {
            "name": "Without blanks, `/` or `@`, for instance moth-fri.",
            "customer": "A `[[customer]]` of this file.",
            "start": "The first day it counts from.",
            "every": (
                'words such as `"Tue and Fri"`, `"other Friday"`',
                "needed, unless there is a `rule`",
                "When it repeats.",
            ),
            "rule": (
                "words",
                "needed, unless there is an `every`",
                "The same as an RFC 5545 rule, for instance `FREQ=MONTHLY;BYDAY=1TU`.",
            ),
            "lines": (
                "list of words",
                "needed",
                'What is wanted: `"200 g broccoli"`, `"6 packs garden mix at 3.50"`, `"1 tray live pea tray"`.',
            ),
            "except": "Days on which it does not come.",
            "also": "Days on which it comes as well.",
            "pause": ("tables", "may be left out", "A time without deliveries."),
            "ended": "True: it has come to its end.",
        },
    ),
    Described(
        "standing.pause",
        "`[[standing.pause]]`",
        "A time without deliveries.",
        {"first": "Its first day.", "last": "Its last day, which belongs to it."},
    ),
    Described(
        "order",
        "`[[order]]`",
        "An order for one day.",
        {
            "name": "Without blanks, `/` or `@`.",
            "customer": "A `[[customer]]` of this file.",
            "due": "The day it is wanted.",
            "lines": ("list of words", "needed", "As in a standing order."),
            "note": "Anything worth knowing.",
        },
    ),
    Described(
        "seed",
        "`[[seed]]`",
        "A lot of seed. Applying the file again leaves lots that are there alone: their grams have been used since.",
        {
            "lot": "Your own name for it; write it on the bag.",
            "crop": "Its crop.",
            "amount": ('weight, such as `"4 kg"`', "needed", "What came; a plain number is in g."),
            "germination": ('share, such as `"94 %"`', "asked for", "What the label says sprouts."),
            "tsw": ('weight, such as `"3.2 g"`', "the crop's own figure", "Weight of a thousand seeds."),
            "cost": "What the whole delivery cost.",
            "variety": "Its variety.",
            "supplier": "Who sent it.",
            "supplier_lot": "The sender's lot number: an inspection asks for it.",
            "treated": "True is refused: treated seed is not for eating fresh, and the label decides.",
            "document": "Delivery note or invoice.",
            "expected": "The day it comes, for seed on order; leave it out for seed that is here.",
        },
    ),
    Described(
        "supply",
        "`[[supply]]`",
        "What you buy and use up beside seed. A tray sown, a pack filled, a litre of feed, a piece of kit washed or "
        "sanitised takes its part by itself.",
        {
            "name": "What it is called; as on its pack.",
            "kind": "What it is.",
            "unit": "What it is counted in.",
            "takes": (
                "list of words",
                "may be left out",
                'What takes of it, how much, and of what name alone: `"tray 120 g of coir"`, `"pack 1"`, '
                '`"litre 2 ml"`, `"washed 1 ml of mesh tray"`, `"sanitised 3 ml"`. The name is a recipe or its medium, '
                "a product, a feed, a pool or an agent.",
            ),
            "keep": (
                'amount, such as `"2 kg"`; a plain number is in its unit',
                "0",
                "The least that should be there.",
            ),
            "surely": "How surely it lasts until a delivery: 95 % is 19 times in 20.",
            "keeps": (
                'time in whole days, such as `"365 d"`',
                "it does not go off",
                "How long it keeps, where a delivery says no day.",
            ),
            "valued": "What used supply costs: the moving average of all deliveries, or what its own lot cost.",
            "lot": ("tables", "may be left out", "What is there, and what is on order."),
            "offer": ("tables", "may be left out", "What suppliers ask for it."),
        },
    ),
    Described(
        "supply.lot",
        "`[[supply.lot]]`",
        "A delivery of the supply. Applying the file again leaves lots that are there alone, for they were used since.",
        {
            "lot": "Your own name for the delivery.",
            "amount": (
                'amount, such as `"25 kg"`, `"2 l"` or `"500 pieces"`; a plain number is in its unit',
                "needed",
                "How much of it.",
            ),
            "best_before": "The day on it.",
            "cost": (*MONEY, "What all of it cost."),
            "supplier": "Who sold it.",
            "supplier_lot": "The supplier's own lot.",
            "document": "Delivery note or invoice.",
            "expected": "The day it comes, for what is on order; leave it out for what is here.",
        },
    ),
    Described(
        "supply.offer",
        "`[[supply.offer]]`",
        "What a supplier asks for the supply. Order advice goes by it.",
        OFFER,
    ),
    Described(
        "seed_offer",
        "`[[seed_offer]]`",
        "What a supplier asks for seed of a crop.",
        {"crop": "Its crop; a recipe must grow it.", **OFFER},
    ),
    Described(
        "record",
        "`[[record]]`",
        "How often a kind of hygiene record is written down somewhere. Which records a law asks for is for local codes "
        "and licensed practice to say.",
        {
            "kind": "A kind of record, for instance `cold room`; `trayward record kinds` names them.",
            "area": "Where: a room, a rack, a tap.",
            "every": "How often: `daily`, `2 a day`, `every 12 h`, `every Mon at 8:00`; left out: whenever it happens.",
            "start": "The first day it counts from.",
            "review_within": ("whole number of days, 0 to 3650", "as the kind has it", "Reviewed within so many."),
            "limit": ("tables", "may be left out", "Your own limits."),
        },
    ),
    Described(
        "record.limit",
        "`[[record.limit]]`",
        "The farm's own limits of a figure in the record.",
        {
            "field": "Which figure: `temperature`.",
            "low": ("number in its unit, or words with a unit", "none", "The least that is within the limits."),
            "high": ("number in its unit, or words with a unit", "none", "The most that is within them."),
        },
    ),
    Described(
        "sensor",
        "`[[sensor]]`",
        "A sensor of a room, shelf or tank. Mains power near water: defer to its label, local codes and licensed "
        "practice.",
        {
            "name": "Letters, figures, dots and dashes; it tells under this name.",
            "place": "Room, shelf or tank.",
            "what": "What it measures.",
            "every": "How often it tells.",
            "low": (*LIMIT, "The lowest you allow."),
            "high": (*LIMIT, "The highest you allow."),
            "after": "So long beyond a limit is an alarm: a door that is opened is none.",
            "silent": (
                'time, such as `"20 min"`, 1 to 10080; a plain number is in minutes; or `"never"`',
                "three readings missed, 10 min at least",
                "So long unheard before it is silent; never, where a logger's file is read in by hand.",
            ),
            "correction": ("tables", "may be left out", "What is added to what it shows."),
            "topic": "The MQTT topic it tells under, where that is not `trayward/NAME`.",
            "field": "Where in the JSON of that topic its value stands, for instance `data.temp`.",
        },
    ),
    Described(
        "sensor.correction",
        "`[[sensor.correction]]`",
        "What is added to what the sensor shows, from a moment on: it was held beside a better instrument.",
        {
            "since": (
                "day and time, such as `2026-11-27T08:00:00`",
                "needed",
                "From when on; on the farm's own clock unless an offset stands behind it.",
            ),
            "add": ("number, in the unit of what it measures", "needed", "How much is added."),
            "note": "What it was held beside.",
        },
    ),
)
