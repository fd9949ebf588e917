"""How long seed keeps: years by crop in a cool dry room, and what damp and warmth take off."""

from __future__ import annotations

import math

import msgspec

from trayward.errors import require_between

DOUBLING_C = 10 / 1.8
"""So much cooler doubles the life of seed: 10 °F. [°C]"""
MOISTURE_PER_RH = 0.1
"""Points of seed moisture a point of air humidity brings, in the middle range: from memory, roughly. [%/%]"""


class Store(msgspec.Struct, frozen=True, kw_only=True):
    """Where seed is kept: temperature [°C] and relative humidity of the air [%], or of the jar it is closed in.

    The default is a cool dry room (59 °F and 40 %, just inside Harrington's sum rule): our choice of what the charts of
    storage life mean by "favorable conditions", which they do not define.
    """

    temp_c: float = 15.0
    rh_pct: float = 40.0


COOL_DRY_ROOM = Store()


def life_factor(moisture_points: float, warmer_c: float) -> float:
    """
    How many times longer seed lives after a change of its moisture and temperature.

    Parameters
    ----------
    moisture_points : float
        Change of seed moisture, in points of per cent; below 0 is drier. [%] Valid -9 to 9.
    warmer_c : float
        Change of temperature; below 0 is cooler. [°C] Valid -50 to 50.

    Returns
    -------
    float
        2 where it lives twice as long. [-]

    Raises
    ------
    InputError
        If a change is larger than the rule's range.

    Notes
    -----
    Harrington's rules of thumb: each point drier, and each 10 °F cooler, doubles the life of seed [1]_. They hold in
    the middle ranges only, about 5 to 14 % moisture and 0 to 50 °C.

    References
    ----------
    .. [1] O. L. Justice and L. N. Bass, 1978, Principles and Practices of Seed Storage, USDA Agriculture Handbook 506,
       restating J. F. Harrington. (The rules seen on a teaching page; of the handbook only its opening pages.)

    Examples
    --------
    >>> round(life_factor(-2, -20 / 1.8), 6)  # 8 to 6 % moisture and 70 to 50 °F
    16.0
    """
    require_between("moisture_points", moisture_points, -9, 9, "%", "The rule holds from about 5 to 14 % moisture.")
    require_between("warmer_c", warmer_c, -50, 50, "°C", "The rule holds from about 0 to 50 °C.")
    return float(2 ** (-moisture_points - warmer_c / DOUBLING_C))


def stores_well(temp_c: float, rh_pct: float) -> bool:
    """
    Whether a store keeps Harrington's sum rule: °F and per cent of air humidity together no more than 100.

    Examples
    --------
    >>> stores_well(10.0, 50.0), stores_well(21.1, 60.0)  # 50 °F and 50 %; 70 °F and 60 %
    (True, False)
    """
    require_between("rh_pct", rh_pct, 0, 100, "%", "Relative humidity, as a hygrometer shows it.")
    return temp_c * 1.8 + 32 + rh_pct <= 100 + 1e-9


def store_factor(store: Store) -> float:
    """How many times longer seed lives here than in the cool dry room; air counts from 20 to 70 %. [-]"""
    require_between("temp_c", store.temp_c, 0, 50, "°C", "Harrington's rules hold from 0 to 50 °C.")
    require_between("rh_pct", store.rh_pct, 0, 100, "%", "Relative humidity, as a hygrometer shows it.")
    damp = min(max(store.rh_pct, 20.0), 70.0) - COOL_DRY_ROOM.rh_pct
    return life_factor(damp * MOISTURE_PER_RH, store.temp_c - COOL_DRY_ROOM.temp_c)


def probit_days(moisture_pct: float, temp_c: float, constants: tuple[float, float, float, float]) -> float:
    """
    Days in store until the probit of viability has fallen by one, by the improved seed viability equation.

    Parameters
    ----------
    moisture_pct : float
        Seed moisture on the wet basis. [%] Valid 5 to 25.
    temp_c : float
        Temperature. [°C] Valid -20 to 90.
    constants : tuple of float
        K_E, C_W, C_H, C_Q of the species.

    Returns
    -------
    float
        Days. [d]

    Raises
    ------
    InputError
        If moisture or temperature lie outside the equation's range.

    Notes
    -----
    log10(days) = K_E - C_W log10(m) - C_H t - C_Q t^2 [1]_; viability after p days is probit v = K_i - p / days.

    References
    ----------
    .. [1] R. H. Ellis and E. H. Roberts, 1980, Annals of Botany 45:13, doi 10.1093/oxfordjournals.aob.a085797.
       (The equation and its range seen in the help of the R package viabilitymetrics; the paper was not read.)

    Examples
    --------
    >>> round(probit_days(10.0, 20.0, (9.983, 5.896, 0.040, 0.000428)))  # barley
    1306
    """
    require_between("moisture_pct", moisture_pct, 5, 25, "%")
    require_between("temp_c", temp_c, -20, 90, "°C", "If this is Fahrenheit, convert first.")
    k_e, c_w, c_h, c_q = constants
    return float(10 ** (k_e - c_w * math.log10(moisture_pct) - c_h * temp_c - c_q * temp_c**2))


_CHART = {
    "beet": 4, "broccoli": 3, "red cabbage": 4, "carrot": 3, "cauliflower": 4, "celery": 3, "chard": 4, "collards": 5,
    "endive": 5, "fennel": 4, "kale": 4, "kohlrabi": 3, "leek": 2, "lettuce": 6, "mustard": 4, "onion": 1, "parsley": 1,
    "pea": 3, "radish": 5, "daikon": 5, "spinach": 3, "turnip": 4, "pak choi": 3, "tatsoi": 3, "mizuna": 3,
}  # fmt: skip
"""Years under favorable conditions. [a]

Source: D. N. Maynard and G. J. Hochmuth, Knott's Handbook for Vegetable Growers, 4th edition, 1997, as an Iowa State
University Extension table gives it (seen as quoted on a garden page; the book was not seen). Cabbage stands for red
cabbage, radish for daikon, Chinese cabbage for pak choi, tatsoi and mizuna.
"""
_GARDEN_PAGES = {
    "arugula": 4, "amaranth": 4, "basil": 4, "borage": 3, "chives": 2, "cilantro": 3, "cress": 5, "dill": 4, "sorrel":
    4, "sunflower": 4,
}  # fmt: skip
"""Middles of what garden pages say (seen; without origin): arugula 2 to 5, basil 3 to 5. [a]"""
_FAMILY = {
    "Brassicaceae": 4, "Fabaceae": 3, "Amaranthaceae": 4, "Asteraceae": 4, "Apiaceae": 3, "Amaryllidaceae": 2,
    "Lamiaceae": 4, "Poaceae": 3, "Polygonaceae": 3,
}  # fmt: skip
"""For crops in no chart, about the middle of their family in the charts; Poaceae and Polygonaceae from memory. [a]"""
_ANY = 3
"""Where not even the family is known: our choice. [a]"""


def storage_life(crop: str, family: str = "") -> tuple[float, str]:
    """
    Years that seed of a crop keeps in a cool dry room, and what the figure rests on.

    Examples
    --------
    >>> storage_life("onion")
    (1.0, 'a grower handbook')
    >>> storage_life("red clover", "Fabaceae")
    (3.0, 'its family')
    """
    for table, words in ((_CHART, "a grower handbook"), (_GARDEN_PAGES, "garden pages")):
        if crop in table:
            return float(table[crop]), words
    if family in _FAMILY:
        return float(_FAMILY[family]), "its family"
    return float(_ANY), "seed in general"
