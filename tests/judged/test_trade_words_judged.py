"""Headers and choices as people write them in English, German and French, each with the field that it means.

Common practice, no source: the words are from memory.
"""

from __future__ import annotations

import pytest

from xlsengine.bench.declaring.declare import Field, Form, Table
from xlsengine.bench.inputs.conditions import BENCH
from xlsengine.bench.inputs.motor import MOTOR
from xlsengine.bench.inputs.no_load import WINDING
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.workbook.reading.trade_words import choice_meant, header_meant
from xlsengine.workbook.reading.unit_words import converted, unit_of

HEADERS: dict[str, tuple[str, str | None]] = {
    # header: (name of the column of Readings, unit that it states)
    "Amps": ("current", "A"),
    "Strom (A)": ("current", "A"),
    "Courant [mA]": ("current", "mA"),
    "Intensité": ("current", None),
    "Stromaufnahme": ("current", None),
    "Volts": ("voltage", "V"),
    "Spannung (mV)": ("voltage", "mV"),
    "Tension": ("voltage", None),
    "U": ("voltage", None),
    "Akkuspannung": ("voltage", None),
    "Schub (g)": ("thrust", "g"),
    "Poussée (N)": ("thrust", "N"),
    "Thrust [oz]": ("thrust", "oz"),
    "Standschub": ("thrust", None),
    "Traction": ("thrust", None),
    "Zugkraft": ("thrust", None),
    "Pull": ("thrust", None),
    "RPM": ("speed", "rpm"),
    "Drehzahl (U/min)": ("speed", "rpm"),
    "Régime (tr/min)": ("speed", "rpm"),
    "Vitesse de rotation": ("speed", None),
    "Umdrehungen": ("speed", None),
    "Drehmoment (Ncm)": ("torque", "N·cm"),
    "Couple (Nm)": ("torque", "N·m"),
    "Torque (oz-in)": ("torque", "oz·in"),
    "Gas (%)": ("throttle", "%"),
    "Gaz": ("throttle", None),
    "Gasstellung": ("throttle", None),
    "Throttle %": ("throttle", "%"),
    "Durchmesser (Zoll)": ("diameter", "in"),
    "Diamètre (cm)": ("diameter", "cm"),
    "Dia": ("diameter", None),
    "Steigung": ("pitch", None),
    "Pas (pouces)": ("pitch", "in"),
    "Prop pitch": ("pitch", None),
    "Blätter": ("blades", None),
    "Pales": ("blades", None),
    "Nombre de pales": ("blades", None),
    "Zellen": ("cells", None),
    "Éléments": ("cells", None),
    "Zellenzahl": ("cells", None),
    "LiPo": ("cells", None),
    "Luftschraube": ("prop", None),
    "Hélice": ("prop", None),
    "Propeller": ("prop", None),
    "Latte": ("prop", None),
    "Art der Messung": ("kind", None),
    "Type de mesure": ("kind", None),
    "Motortemperatur (°F)": ("motor_temperature", "°F"),
    "Température moteur": ("motor_temperature", None),
    "Gültig": ("use", None),
    "Utilisé": ("use", None),
    "Valid": ("use", None),
    "Bemerkung": ("note", None),
    "Remarques": ("note", None),
    "Comment": ("note", None),
    "Lauf": ("run", None),
    "Essai": ("run", None),
    "Messung": ("run", None),
    "Run no.": ("run", None),
}
CHOICES = {
    "ja": "yes",
    "oui": "yes",
    "wahr": "yes",
    "y": "yes",
    "vrai": "yes",
    "nein": "no",
    "non": "no",
    "falsch": "no",
    "faux": "no",
    "n": "no",
    "spitze": "peak",
    "pic": "peak",
    "crête": "peak",
    "burst": "peak",
    "pointe": "peak",
    "dauer": "steady",
    "stabilisé": "steady",
    "continuous": "steady",
    "stationär": "steady",
    "continu": "steady",
}
SUPPLIES = {"akku": "pack", "batterie": "pack", "netzteil": "bench supply", "alimentation": "bench supply"}
FORM_WORDS: dict[str, tuple[Form | Table, str]] = {
    "Gewicht": (MOTOR, "mass_as_supplied"),
    "Poids": (MOTOR, "mass_as_supplied"),
    "Hersteller": (MOTOR, "maker"),
    "Fabricant": (MOTOR, "maker"),
    "Modell": (MOTOR, "model"),
    "Polzahl": (MOTOR, "poles"),
    "Aimants": (MOTOR, "poles"),
    "Nuten": (MOTOR, "slots"),
    "Encoches": (MOTOR, "slots"),
    "Datum": (MOTOR, "test_date"),
    "Prüfer": (MOTOR, "tester"),
    "Kv rating": (MOTOR, "label_kv"),
    "Luftdruck": (BENCH, "air_pressure"),
    "Pression": (BENCH, "air_pressure"),
    "Lufttemperatur": (BENCH, "air_temperature"),
    "Température de l'air": (BENCH, "air_temperature"),
    "Luftfeuchtigkeit": (BENCH, "air_humidity"),
    "Humidité": (BENCH, "air_humidity"),
    "Widerstand": (WINDING, "resistance"),
    "Résistance": (WINDING, "resistance"),
}
UNITS_AS_WRITTEN = {
    # what is written: (a column of Readings, number in its unit)
    "Unzen": ("thrust", 28.349523125),
    "onces": ("thrust", 28.349523125),
    "Pfund": ("thrust", 453.59237),
    "livres": ("thrust", 453.59237),
    "Newton": ("thrust", 1000 / 9.80665),
    "kp": ("thrust", 1000.0),
    "kg": ("thrust", 1000.0),
    "grammes": ("thrust", 1.0),
    "oz": ("thrust", 28.349523125),
    "Zoll": ("diameter", 1.0),
    "pouces": ("diameter", 1.0),
    "mm": ("diameter", 1 / 25.4),
    "cm": ("diameter", 1 / 2.54),
    "Fuß": ("diameter", 12.0),
    "pieds": ("diameter", 12.0),
    "U/min": ("speed", 1.0),
    "tr/min": ("speed", 1.0),
    "1/s": ("speed", 60.0),
    "tr/s": ("speed", 60.0),
    "mA": ("current", 1e-3),
    "Ampere": ("current", 1.0),
    "mV": ("voltage", 1e-3),
    "Prozent": ("throttle", 1.0),
    "Ncm": ("torque", 1e-2),
    "mNm": ("torque", 1e-3),
    "kg·cm": ("torque", 0.0980665),
    "oz-in": ("torque", 0.00706155),
    "in-lb": ("torque", 0.1129848),
    "ft-lb": ("torque", 1.355818),
    "Nmm": ("torque", 1e-3),
}


def meanings(text: str, fields: dict[str, Field]) -> dict[str, str | None]:
    """Return the fields that a header names, with the unit that it states for each."""
    found = {name: header_meant(text, declared) for name, declared in fields.items()}
    return {name: meant.unit for name, meant in found.items() if meant is not None}


@pytest.mark.parametrize("header", HEADERS)
def test_a_header_means_one_column(header: str) -> None:
    name, unit = HEADERS[header]
    assert meanings(header, READINGS.fields) == {name: unit}


@pytest.mark.parametrize("word", FORM_WORDS)
def test_a_label_means_one_field(word: str) -> None:
    part, name = FORM_WORDS[word]
    assert list(meanings(word, part.fields)) == [name]


@pytest.mark.parametrize("word", ["Wind", "Leistung", "Puissance", "Power", "max", "Wirkungsgrad"])
def test_other_words_mean_no_column(word: str) -> None:
    assert meanings(word, READINGS.fields) == {}


@pytest.mark.parametrize("word", CHOICES)
def test_a_choice(word: str) -> None:
    choices = ("yes", "no") if CHOICES[word] in ("yes", "no") else ("peak", "steady")
    assert choice_meant(word, choices) == CHOICES[word]


@pytest.mark.parametrize("word", SUPPLIES)
def test_a_supply(word: str) -> None:
    assert choice_meant(word, ("pack", "bench supply")) == SUPPLIES[word]


@pytest.mark.parametrize("word", UNITS_AS_WRITTEN)
def test_one_of_a_unit_as_it_is_written(word: str) -> None:
    name, wanted = UNITS_AS_WRITTEN[word]
    declared = READINGS.fields[name]
    unit = unit_of(word, declared)
    assert unit is not None
    assert converted(1.0, unit, declared) == pytest.approx(wanted, rel=1e-6)
