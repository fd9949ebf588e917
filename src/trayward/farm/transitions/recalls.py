"""How customers are reached, and recalls that were tried out or had to be."""

from __future__ import annotations

from trayward.farm.entries import ContactSet, Entry, RecallKept
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, odd, show, wrong


def check_contact(state: FarmState, body: ContactSet, entry: Entry) -> Findings:
    contact = body.contact
    if contact.customer not in state.customers:
        message = f"contact of {contact.customer}: the farm has no customer of that name."
        return [wrong(entry, "customer-unknown", message, "Set up the customer, or check the name.")]
    if contact.email and "@" not in contact.email:
        message = f"contact of {contact.customer}, e-mail = {contact.email}: it has no @."
        return [odd(entry, "contact-email", message, "Check what was typed.")]
    return []


def apply_contact(state: FarmState, body: ContactSet, entry: Entry) -> None:
    state.contacts[body.contact.customer] = body.contact


def check_recall(state: FarmState, body: RecallKept, entry: Entry) -> Findings:
    told = body.recall
    if told.recall in state.recalls:
        message = f"recall {told.recall} = kept already: a name is used once."
        return [wrong(entry, "recall-twice", message, "Keep it under a name of its own.")]
    if told.ended < told.began:
        message = f"recall {told.recall} = {show(told.minutes)} min: it ended before it began."
        return [wrong(entry, "recall-times", message, "Check when it began.")]
    return []


def apply_recall(state: FarmState, body: RecallKept, entry: Entry) -> None:
    state.recalls[body.recall.recall] = body.recall
