"""Who: logging in, the lock of a shared phone, pairing, people, and what everybody may change of themselves."""

from __future__ import annotations

from trayward.web.people import door, mine, owner
from trayward.web.routing import act, api, page

ROUTES = (
    page("/login", door.login_page, may="anyone", farmless=True),
    act("/login", door.log_in, may="anyone", farmless=True),
    act("/logout", door.log_out, may="look", farmless=True),
    page("/lock", door.lock_page, may="anyone", farmless=True),
    act("/lock", door.lock_now, may="look", farmless=True),
    act("/unlock", door.unlock, may="anyone", farmless=True),
    page("/pair/{code}", door.join_page, may="anyone", farmless=True),
    act("/pair/{code}", door.join, may="anyone", farmless=True),
    api("GET", "/me/awake", door.awake, may="look"),
    api("POST", "/me/awake", door.awake, may="look"),
    page("/me", mine.me_page, may="look", farmless=True),
    act("/me/pin", mine.set_pin, may="look", again=mine.me_page, farmless=True),
    act("/me/password", mine.set_password, may="look", again=mine.me_page, farmless=True),
    act("/me/taste", mine.set_taste, may="look", again=mine.me_page, farmless=True),
    act("/me/end", mine.end_one, may="look", again=mine.me_page, farmless=True),
    act("/me/end-others", mine.end_others, may="look", again=mine.me_page, farmless=True),
    page("/people", owner.people_page, may="run", farmless=True),
    act("/people/add", owner.add, may="run", again=owner.people_page, farmless=True),
    act("/people/settings", owner.set_settings, may="run", again=owner.people_page, farmless=True),
    act("/people/end", owner.end_session, may="run", again=owner.people_page, farmless=True),
    act("/people/tokens/add", owner.add_token, may="run", again=owner.people_page, farmless=True),
    act("/people/tokens/end", owner.end_token, may="run", again=owner.people_page, farmless=True),
    page("/people/tokens/add", owner.to_people, may="run", farmless=True),
    page("/people/{id}", owner.person_page, may="run", farmless=True),
    act("/people/{id}/name", owner.rename, may="run", again=owner.person_page, farmless=True),
    act("/people/{id}/role", owner.set_role, may="run", again=owner.person_page, farmless=True),
    act("/people/{id}/password", owner.set_password, may="run", again=owner.person_page, farmless=True),
    act("/people/{id}/pin", owner.forget_pin, may="run", again=owner.person_page, farmless=True),
    page("/people/{id}/pair", owner.to_person, may="run", farmless=True),
    act("/people/{id}/pair", owner.pair, may="run", again=owner.person_page, farmless=True),
    act("/people/{id}/end-all", owner.end_all, may="run", again=owner.person_page, farmless=True),
    act("/people/{id}/remove", owner.remove, may="run", again=owner.person_page, farmless=True),
)
