"""How people write units, in cells and in headers: the trade's words in English, German and French."""

import unicodedata

from xlsengine.bench.declaring.declare import Field
from xlsengine.units import UNITS, convert

_DASHES = "−–—‐‑‒﹣－"
_BLANKS = "\t\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000"
_NOTHING = "\u200b\u2060\ufeff"
LONGEST_WORD = 200  # signs: beyond them nothing is a number, a unit or a header
LOOKALIKES = str.maketrans(
    dict.fromkeys(_DASHES, "-")
    | dict.fromkeys(_BLANKS, " ")
    | dict.fromkeys(_NOTHING, "")
    | dict.fromkeys("×✕╳*", "x")
    | dict.fromkeys("⋅•∙‧", "·")
    | dict.fromkeys("’‘´`", "'")
    | dict.fromkeys("″”“", '"')
    | {"＋": "+", "，": ",", "．": ".", "％": "%", "µ": "μ", "Ω": "Ω"}
)
# Where capitals decide, the exact spelling goes first; some are units far from any bench.
_AS_WRITTEN, _FAR = "mV mA mΩ mN mN·m mW mbar mg ms", "MV MA MΩ MN MNm MN·m MW Mg"
_EXACT = {**{unit: unit for unit in _AS_WRITTEN.split()}, **dict.fromkeys(_FAR.split(), ""), "mNm": "mN·m"}
_BY_THEMSELVES = "mg ozf mN kN kW mW krpm hPa Pa kPa bar mAh Ah mph ppm"
_WORDS = {
    "%": "% percent pct prozent pourcent",
    "g": "g gr g. gr. gram grams gramm gramme grammes",
    "gf": "gf g gr gram-force grams-force gramforce",
    "kg": "kg kgs kilo kilos kilogram kilograms kilogramm kilogrammes",
    "kgf": "kgf kp",
    "oz": "oz oz. ounce ounces unze unzen once onces",
    "lb": "lb lbs lb. lbs. pound pounds pfund livre livres",
    "lbf": "lbf lbsf",
    "N": "n newton newtons",
    "mm": "mm millimeter millimetre millimetres millimètres",
    "cm": "cm zentimeter centimeter centimetre centimètres",
    "m": "m meter metre metres mètre mètres",
    "ft": "ft ft. feet foot fuß pied pieds '",
    "in": 'in in. inch inches " zoll pouce pouces po',
    "V": "v volt volts vdc",
    "mV": "mv millivolt millivolts",
    "A": "a amp amps amps. ampere amperes ampère ampères adc",
    "mA": "ma milliamp milliamps milliampere",
    "W": "w watt watts",
    "rpm": "rpm r.p.m. r/min 1/min min-1 min⁻¹ u/min u./min upm tr/min trs/min t/min rev/min revs/min rev./min "
    "umdrehungen/min tours/min",
    "rps": "rps r/s 1/s s-1 s⁻¹ u/s tr/s rev/s",
    "rpm/V": "rpm/v kv u/min/v tr/min/v 1/min/v",
    "N·m": "n·m nm nxm n.m n-m newtonmeter newton-metre newton-mètre",
    "mN·m": "mn·m mnm mnxm",
    "N·cm": "n·cm ncm nxcm n.cm",
    "N·mm": "n·mm nmm nxmm n.mm",
    "g·cm": "g·cm gcm gxcm gf·cm gfcm gfxcm",
    "kg·cm": "kg·cm kgcm kgxcm kgf·cm kgfcm kgfxcm",
    "oz·in": "oz·in ozin oz-in ozxin in·oz in-oz inoz ozf·in ozf-in",
    "lb·in": "lb·in lbin lb-in lbxin lbf·in lbf-in in·lb in-lb inlb",
    "lb·ft": "lb·ft lbft lb-ft lbxft lbf·ft lbf-ft ft·lb ft-lb ftlb",
    "mΩ": "mω mohm mohms milliohm milliohms",
    "Ω": "ω ohm ohms",
    "μΩ": "μω μohm uohm microohm mikroohm",
    "°C": "°c c degc ℃ celsius °celsius gradc",
    "°F": "°f f degf ℉ fahrenheit",
    "mbar": "mbar millibar mb",
    "inHg": "inhg in.hg inchhg",
    "mmHg": "mmhg torr",
    "s": "s s. sec sec. secs second seconds sek sek. sekunden seconde secondes",
    "ms": "ms msec",
    "min": "min min. minute minutes minuten",
    "h": "h hr hrs hour hours std heure heures",
    "m/s": "m/s mps",
    "km/h": "km/h kmh kph",
    "kn": "kt kts kn knot knots knoten nœud nœuds",
    "ft/s": "ft/s fps",
    "AWG": "awg ga gauge",
    "°": "° deg degree degrees grad degré degrés",
    "g/cm³": "g/cm³ g/cm3",
    "kg/m³": "kg/m³ kg/m3",
    "K": "k kelvin",
}
_BY_WORD: dict[str, list[str]] = {}
for _symbol, _words in ({unit: unit for unit in _BY_THEMSELVES.split()} | _WORDS).items():
    for _word in _words.split():
        _BY_WORD.setdefault(_word.casefold(), []).append(_symbol)
# What people write behind a bare count.
COUNTED = {
    "cells": "s slipo s-lipo s1p s2p cell cells lipo zelle zellen élément éléments",
    "motor_count": "x × motor motors motoren moteur moteurs rotor rotors propeller propellers props",
    "blades": "b bl blade blades blatt blätter pale pales",
    "poles": "p pole poles pol pole. magnets magnete aimants pôles",
    "slots": "n slot slots nut nuten encoches teeth",
}
COUNTED["pack_cells"] = COUNTED["cells"]


def plain_signs(text: str) -> str:
    """Return a text with one way of writing each sign: dashes, blanks, marks, digits of other alphabets.

    Longer texts stay as they are: putting many marks of one letter in order takes the square of their number.
    """
    if len(text) > LONGEST_WORD:
        return text.strip()
    composed = unicodedata.normalize("NFC", text).translate(LOOKALIKES)
    return "".join(str(unicodedata.decimal(sign)) if sign.isdecimal() else sign for sign in composed).strip()


def unit_of(word: str, declared: Field) -> str | None:
    """Return the unit that a word means for a field, or None where it is none of the field's kind.

    >>> volts = Field("volts", "Volts", "V")
    >>> [unit_of(word, volts) for word in ("volts", "mV", "MV", "Amps")]
    ['V', 'mV', None, None]
    """
    exact = _EXACT.get("".join(plain_signs(word).split()))
    squeezed = "".join(plain_signs(word).split()).casefold()
    if squeezed in COUNTED.get(declared.name, "").split():
        return declared.unit
    named = _BY_WORD.get(squeezed, []) if exact is None else [exact]
    fitting = [unit for unit in named if unit and _fits(unit, declared)]
    return declared.unit if declared.unit in fitting else fitting[0] if fitting else None


def is_unit(word: str) -> bool:
    """Tell whether a word is a unit of anything.

    >>> is_unit("Amps"), is_unit("windy")
    (True, False)
    """
    return "".join(plain_signs(word).split()).casefold() in _BY_WORD


def converted(number: float, given: str, declared: Field) -> float:
    """Return a number in a field's unit, with the twelve digits that conversion keeps.

    >>> converted(1.25, "kg", Field("thrust", "Thrust", "g"))
    1250.0
    """
    if given == declared.unit:
        return number
    wanted = "gf" if UNITS[given].kind == "force" and declared.unit == "g" else declared.unit
    return float(f"{convert(number, given, wanted):.12g}")


def _fits(unit: str, declared: Field) -> bool:
    """Tell whether a unit measures what a field does; thrust in grams is a force, and mass is not."""
    kind, wanted = UNITS[unit].kind, UNITS[declared.unit].kind
    return kind == wanted or (kind == "force" and declared.unit == "g" and "thrust" in declared.name)
