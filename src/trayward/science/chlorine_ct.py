"""The published table of strength x time against Giardia cysts in drinking water, by temperature, strength and pH.

Drinking-water figures. They tell how long clear water takes, for instance of a well or a rain tank; they say nothing of
trays, seed or greens. Defer to local codes and licensed practice.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from functools import cache

from trayward.science.either import require_each

TEMPERATURES = (0.5, 5.0, 10.0, 15.0, 20.0, 25.0)
"""Water is read at the next colder column. [°C]"""
STRENGTHS = (0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.4, 2.6, 2.8, 3.0)
"""Free chlorine is read at the next stronger row; above the last, the last holds. [mg/l]"""
PHS = (6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0)
"""pH is read at the next higher column. [-]"""

# One line a strength, one figure a pH, one block a temperature. [mg min/l]
_TABLE = """
137 163 195 237 277 329 390|141 168 200 239 286 342 407|145 172 205 246 295 354 422|148 176 210 253 304 365 437
152 180 215 259 313 376 451|155 184 221 266 321 387 464|157 189 226 273 329 397 477|162 193 231 279 338 407 489
165 197 236 286 346 417 500|169 201 242 297 353 426 511|172 205 247 298 361 435 522|175 209 252 304 368 444 533
178 213 257 310 375 452 543|181 217 261 316 382 460 552

97 117 139 166 198 236 279|100 120 143 171 204 244 291|103 122 146 175 210 252 301|105 125 149 179 216 260 312
107 127 152 183 221 267 320|109 130 155 187 227 274 329|111 132 158 192 232 281 337|114 135 162 196 238 287 345
116 138 165 200 243 294 353|118 140 169 204 248 300 361|120 143 172 209 253 306 368|122 146 175 213 258 312 375
124 148 178 217 263 318 382|126 151 182 221 268 324 389

73 88 104 125 149 177 209|75 90 107 128 153 183 218|78 92 110 131 158 189 226|79 94 112 134 162 195 234
80 95 114 137 166 200 240|82 98 116 140 170 206 247|83 99 119 144 174 211 253|86 101 122 147 179 215 259
87 104 124 150 182 221 265|89 105 127 153 186 225 271|90 107 129 157 190 230 276|92 110 131 160 194 234 281
93 111 134 163 197 239 287|95 113 137 166 201 243 292

49 59 70 83 99 118 140|50 60 72 86 102 122 146|52 61 73 88 105 126 151|53 63 75 90 108 130 156
54 64 76 92 111 134 160|55 65 78 94 114 137 165|56 66 79 96 116 141 169|57 68 81 98 119 144 173
58 69 83 100 122 147 177|59 70 85 102 124 150 181|60 72 86 105 127 153 184|61 73 88 107 129 156 188
62 74 89 109 132 159 191|63 76 91 111 134 162 195

36 44 52 62 74 89 105|38 45 54 64 77 92 109|39 46 55 66 79 95 113|39 47 56 67 81 98 117
40 48 57 69 83 100 120|41 49 58 70 85 103 123|42 50 59 72 87 105 126|43 51 61 74 89 108 129
44 52 62 75 91 110 132|44 53 63 77 93 113 135|45 54 65 78 95 115 138|46 55 66 80 97 117 141
47 56 67 81 99 119 143|47 57 68 83 101 122 146

24 29 35 42 50 59 70|25 30 36 43 51 61 73|26 31 37 44 53 63 75|26 31 37 45 54 65 78
27 32 38 46 55 67 80|27 33 39 47 57 69 82|28 33 40 48 58 70 84|29 34 41 49 60 72 86
29 35 41 50 61 74 88|30 35 42 51 62 75 90|30 36 43 52 63 77 92|31 37 44 53 65 78 94
31 37 45 54 66 80 96|32 38 46 55 67 81 97
"""


@cache
def _blocks() -> tuple[tuple[tuple[int, ...], ...], ...]:
    return tuple(
        tuple(tuple(int(figure) for figure in row.split()) for row in block.replace("\n", "|").split("|"))
        for block in _TABLE.strip().split("\n\n")
    )


def giardia_ct(ppm: float, ph: float, temp_c: float) -> float:
    """
    Strength x time that takes 99.9 % of Giardia cysts out of drinking water with free chlorine.

    Parameters
    ----------
    ppm : float
        Free chlorine left at the end. [mg/l] Valid above 0; above 3 the table's last row holds.
    ph : float
        Of the water. [-] Valid from 0 up to 9; below 6 the column of 6 holds, which is on the safe side.
    temp_c : float
        Of the water. [°C] Valid 0.5 to 60; above 25 the column of 25 holds, which is on the safe side.

    Returns
    -------
    float
        Strength x time. [mg min/l]

    Raises
    ------
    InputError
        If a value lies where the table gives nothing.

    Notes
    -----
    The table is read, not interpolated: temperature down, pH and strength up, each on the safe side.

    References
    ----------
    .. [1] US EPA, 2020, Disinfection Profiling and Benchmarking Guidance Manual, EPA 815-R-20-003, Table B-1. (The
       figures seen as copied into an open program; the 15 °C ones the same as Table C-4 of EPA 815-R-99-013.)

    Examples
    --------
    >>> giardia_ct(1.2, 7.5, 15.0)
    92.0
    """
    require_each("ppm", ppm, 0, float("inf"), "ppm", "Measure what is left with a strip.", above=True)
    require_each("pH", ph, 0, PHS[-1], "", "The table ends at pH 9.")
    require_each("temp_c", temp_c, TEMPERATURES[0], 60, "°C", "The table begins at 0.5 °C.")
    block = _blocks()[bisect_right(TEMPERATURES, temp_c) - 1]
    row = block[min(bisect_left(STRENGTHS, ppm), len(STRENGTHS) - 1)]
    return float(row[bisect_left(PHS, ph)])
