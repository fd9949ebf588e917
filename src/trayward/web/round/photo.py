"""The photo that comes with what is said on a form."""

from __future__ import annotations

from hashlib import sha256

from trayward.desk.core import Said
from trayward.desk.photos import photo_id
from trayward.web.ask import Ask
from trayward.web.round.picture import as_kept


def photo_too(ask: Ask, about: tuple[str, ...], call: str) -> list[str]:
    """
    The photo that came with a form, kept before what the form says: no browser can fill a file in again.

    Parameters
    ----------
    about : tuple of str
        What it shows.
    call : str
        What tells the form from others, where it was not kept on a device, so that the same photo is kept once.

    Returns
    -------
    list of str
        Its entry, where it was kept now.
    """
    file = ask.form.file("photo")
    if file is None:
        return []
    picture = as_kept(file.content)
    entry_id = photo_id(
        sha256(picture).hexdigest(), about, ask.send.id if ask.send is not None else f"{ask.who.name} {call}"
    )
    ask.request.state.photo = entry_id
    if ask.farm.book.get(entry_id) is not None:
        return []
    said: Said = {**ask.said, "ids": [entry_id]}
    ask.farm.keep_photo(picture, about, ask.form.text("note"), **said)
    return [entry_id]
