"""The trade's words for columns, fields and choices, in English, German and French: one table for all of reading."""

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from xlsengine.bench.declaring.declare import Field
from xlsengine.workbook.reading.unit_words import LONGEST_WORD, is_unit, plain_signs, unit_of

# Words by a field's label. A word that is a unit as well (volts, amps, rpm) states its unit. None stands under two
# labels of one table.
HEADERS: dict[str, str] = {
    "Run": "no|nr|number|nummer|run no|run nr|run number|test no|lauf|lauf nr|laufnummer|messung|messung nr|messpunkt|essai|"
    "numéro|n°|n° d'essai|#",
    "Prop": "propeller|prop name|propeller name|prop size|propeller size|prop type|airscrew|luftschraube|latte|propellertyp|"
    "propellername|propellergröße|proptyp|hélice|nom de l'hélice|taille d'hélice|type d'hélice",
    "Diameter": "dia|diam|d|prop diameter|prop dia|propeller diameter|durchmesser|propellerdurchmesser|durchm|"
    "luftschraubendurchmesser|diamètre|diamètre d'hélice|diamètre de l'hélice|ø",
    "Pitch": "prop pitch|propeller pitch|steigung|propellersteigung|pas|pas d'hélice|pas de l'hélice",
    "Blades": "number of blades|no of blades|blade count|blätter|blattzahl|blattanzahl|anzahl blätter|pales|nombre de pales|"
    "nb pales|nb de pales",
    "Cells": "cell count|number of cells|cells in series|lipo|lipo cells|zellen|zellenzahl|zellzahl|zellenanzahl|"
    "anzahl zellen|éléments|nombre d'éléments|nb éléments|nb d'éléments|cellules|nombre de cellules|s",
    "Throttle": "thr|throttle position|throttle setting|throttle stick|stick|stick position|gas|gasstellung|gashebel|"
    "gasposition|gasstufe|drossel|drosselstellung|gaz|niveau de gaz|position des gaz|manette|manette des gaz|"
    "position de la manette|commande|commande des gaz",
    "Kind": "reading|type|kind of reading|art|messart|art der messung|genre|type de mesure|mode de mesure",
    "Voltage": "volt|volts|v|u|spannung|akkuspannung|batteriespannung|battery voltage|pack voltage|tension|"
    "tension batterie|tension d'alimentation",
    "Current": "amp|amps|ampere|amperes|a|i|strom|stromstärke|stromaufnahme|courant|"
    "courant consommé|intensité|current draw|amp draw|ampères",
    "Thrust": "static thrust|gram|grams|gramm|pull|lift|schub|standschub|schubkraft|zug|zugkraft|poussée|"
    "poussée statique|traction",
    "Speed": "rpm|revs|rotation speed|rotational speed|prop rpm|motor rpm|drehzahl|motordrehzahl|propellerdrehzahl|"
    "umdrehungen|régime|régime moteur|vitesse|vitesse de rotation|tours|tours par minute|n",
    "Torque": "moment|drehmoment|couple|couple moteur|q",
    "Motor temperature": "temperature|temp|motor temp|case temperature|case temp|temperatur|motortemperatur|"
    "motortemp|gehäusetemperatur|temp motor|température|température moteur|"
    "température du moteur|temp moteur|t motor",
    "Use": "used|valid|gültig|verwenden|verwendet|benutzen|utiliser|utilisé|valide",
    "Note": "notes|remark|remarks|comment|comments|bemerkung|bemerkungen|anmerkung|anmerkungen|hinweis|"
    "notiz|notizen|kommentar|kommentare|remarque|remarques|"
    "commentaire|commentaires",
    "Known weight": "weight|mass|gewicht|poids",
    "Resistance": "widerstand|résistance",
    "Labelled Kv": "kv|label kv|kv rating|rated kv",
    "Mass as supplied": "weight|mass|gewicht|masse|poids|weight as supplied",
    "Test date": "date|datum|day",
    "Tester": "tested by|prüfer|testeur",
    "Maker": "manufacturer|brand|hersteller|marke|fabricant|marque",
    "Model": "motor|type|modell|modèle|moteur",
    "Magnet poles": "poles|pole count|magnets|pole|polzahl|pôles|aimants",
    "Stator slots": "slots|slot count|nuten|encoches",
    "Air temperature": "temperature|ambient temperature|lufttemperatur|température de l'air",
    "Station pressure": "pressure|air pressure|luftdruck|pression",
    "Relative humidity": "humidity|luftfeuchte|luftfeuchtigkeit|humidité",
}
# Words that name a field where no other column does: of a maximum, of a pack.
SECOND_HEADERS: dict[str, str] = {
    "Cells": "pack|battery|batt|akku|pack size|batterie|accu",
    "Voltage": "vbat|v bat|v batt|vbatt|bat v|battery v|min volts|min voltage|voltage under load|volts under load|u bat",
    "Current": "max amps|max a|max current|peak amps|peak current|amps max|current max|max amp draw|max strom|"
    "spitzenstrom|courant max|intensité max",
    "Thrust": "max thrust|max grams|peak thrust|thrust max|grams thrust|max schub|poussée max",
    "Speed": "max rpm|peak rpm|rpm max",
    "Throttle": "throttle level|power level",
}
CHOICES: dict[str, str] = {
    "yes": "y|true|ja|j|wahr|oui|o|vrai|✓|✔|1",
    "no": "n|false|nein|falsch|non|faux|✗|✘|0",
    "peak": "peaks|pk|max|maximum|burst|spitze|spitzenwert|pic|crête|pointe",
    "steady": "settled|average|averaged|continuous|sustained|stetig|dauer|dauerlast|stationär|continu|stable|stabilisé|"
    "permanent",
    "pack": "battery|akku|lipo|batterie|accu",
    "forward flight with short full throttle": "bursts|short bursts|forward flight|forward",
    "full throttle held": "held|sustained full throttle",
    "hover / 3D / ducted": "hover|hovering|3d|ducted",
    "bench supply": "power supply|netzteil|labornetzteil|alimentation|alimentation de laboratoire",
}
_UNIT_STATED = re.compile(r"(?P<label>.*?)\s*(?:[(\[{]\s*(?:in\s+)?(?P<closed>[^()\[\]{}]*?)\s*[)\]}]|(?:,\s*|\s+in\s+|\s+/\s*)(?P<open>\S+)|(?:\s+|(?=%))(?P<bare>\S+))")  # fmt: skip # noqa: E501


# Words of columns that follow from others, and from which.
COMPUTED: dict[str, str] = {
    "watt|watts|w|power|input power|max watts|max power|peak watts|leistung|puissance": "power, computed from volts and amps",
    "g/w|gr/w|grams per watt|grams/watt|efficiency|effizienz|rendement": "thrust per power, computed from the readings",
    "g/a|grams per amp|grams/amp": "thrust per current, computed from the readings",
}


class Meant(NamedTuple):
    """What a header says: the unit that it states (None: none), whether that unit is of another kind, and whether it
    counts only where no other header names the field."""

    unit: str | None
    foreign: bool = False
    second: bool = False


@lru_cache(maxsize=4096)
def word_key(text: str) -> str:
    """Return a header as it is compared: one way of writing each sign, without capitals, marks and spare blanks.

    >>> word_key(" No. of  Blades: ")
    'no of blades'
    """
    return " ".join(re.sub(r"[.:*_]+", " ", plain_signs(text).casefold()).split())


def header_meant(text: str, declared: Field) -> Meant | None:
    """Return what a header says of a field, None where it does not name it.

    >>> volts, thrust = Field("voltage", "Voltage", "V"), Field("thrust", "Thrust", "g")
    >>> header_meant("Spannung [mV]", volts), header_meant("Thrust / N", thrust), header_meant("Wind", thrust)
    (Meant(unit='mV', foreign=False, second=False), Meant(unit='N', foreign=False, second=False), None)
    """
    return _meant(text, declared, _names(declared.label)) or _second_meant(text, declared)


def _second_meant(text: str, declared: Field) -> Meant | None:
    meant = _meant(text, declared, _words(SECOND_HEADERS.get(declared.label, "")))
    return meant and meant._replace(second=True)


def _meant(text: str, declared: Field, names: frozenset[str]) -> Meant | None:
    header = _header_parts(text) if len(text) <= LONGEST_WORD else None
    if header is None or (header.whole not in names and header.label not in names):
        return None
    if header.whole in names:
        return Meant(unit_of(text, declared) if declared.unit else None)
    unit = unit_of(header.written, declared)
    if unit is None and header.bare:
        return None
    if unit is None and not is_unit(header.written) and not header.closed:
        return None
    return Meant(unit, foreign=unit is None and bool(header.written))


class _Header(NamedTuple):
    """A header as it is compared: whole, and cut into its label and the unit written behind that."""

    whole: str
    label: str | None = None
    written: str = ""
    closed: bool = False
    bare: bool = False


@lru_cache(maxsize=4096)
def _header_parts(text: str) -> _Header:
    whole, stated = word_key(text), _UNIT_STATED.fullmatch(plain_signs(text))
    if not stated:
        return _Header(whole)
    written = next(part for part in stated.group("closed", "open", "bare") if part is not None)
    closed, bare = (stated[way] is not None for way in ("closed", "bare"))
    return _Header(whole, word_key(stated["label"]), written, closed, bare)


@lru_cache
def _names(label: str) -> frozenset[str]:
    return _words(f"{label}|{HEADERS.get(label, '')}")


@lru_cache
def _words(listed: str) -> frozenset[str]:
    return frozenset(word_key(word) for word in listed.split("|")) - {""}


@lru_cache(maxsize=4096)
def computed_meant(text: str) -> str:
    """Return what a header names that follows from other columns, "" where it names no such thing.

    >>> computed_meant("Watts"), computed_meant("Wind")
    ('power, computed from volts and amps', '')
    """
    parts = _header_parts(text) if len(text) <= LONGEST_WORD else _Header("")
    found = (what for words, what in COMPUTED.items() if {parts.whole, parts.label} & _words(words))
    return next(found, "")


def choice_meant(text: str, choices: Sequence[str]) -> str | None:
    """Return the choice that a word of the trade means.

    >>> choice_meant("ja", ("yes", "no"))
    'yes'
    """
    return next((choice for choice in choices if text in CHOICES.get(choice, "").split("|")), None)
