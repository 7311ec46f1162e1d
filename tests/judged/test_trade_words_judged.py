"""Headers and choices as people write them in English, German and French, each with the field that it means.

Common practice, no source: the words are from memory.
"""

import pytest

from xlsengine.bench.declaring.declare import Field, Form, Table
from xlsengine.bench.inputs.conditions import BENCH
from xlsengine.bench.inputs.motor import MOTOR
from xlsengine.bench.inputs.no_load import WINDING
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.workbook.reading.trade_words import choice_meant, converted, header_meant, unit_of

HEADERS_OF = {
    # column of Readings: its headers as people write them, and behind "=" the unit that each states
    "current": (
        "Amps=A|Strom (A)=A|Courant [mA]=mA|Intensité|Stromaufnahme|Strom / A=A|Courant (A)=A|Current, mA=mA|Current|"
        "Stromaufnahme (A)=A"
    ),
    "voltage": "Volts=V|Spannung (mV)=mV|Tension|U|Akkuspannung|Volts (V)=V|Spannung [V]=V|Tension (mV)=mV",
    "thrust": (
        "Schub (g)=g|Poussée (N)=N|Thrust [oz]=oz|Standschub|Traction|Zugkraft|Pull|Thrust [N]=N|Thrust (oz)=oz|"
        "Schub in g=g|Poussée (g)=g|Schub g=g|Zugkraft [N]=N"
    ),
    "speed": "RPM=rpm|Drehzahl (U/min)=rpm|Régime (tr/min)=rpm|Vitesse de rotation|Umdrehungen",
    "torque": "Drehmoment (Ncm)=N·cm|Couple (Nm)=N·m|Torque (oz-in)=oz·in|Torque (Ncm)=N·cm|Drehmoment [Nm]=N·m",
    "throttle": "Gas (%)=%|Gaz|Gasstellung|Throttle %=%|Gas %=%|Gas%=%|Gas [%]=%|Drossel|Manette des gaz (%)=%",
    "diameter": "Durchmesser (Zoll)=in|Diamètre (cm)=cm|Dia|Dia. (mm)=mm|Diamètre de l’hélice",
    "pitch": "Steigung|Pas (pouces)=in|Prop pitch",
    "blades": "Blätter|Pales|Nombre de pales|Nb de pales",
    "cells": "Zellen|Éléments|Zellenzahl|LiPo",
    "prop": "Luftschraube|Hélice|Propeller|Latte",
    "kind": "Art der Messung|Type de mesure",
    "motor_temperature": (
        "Motortemperatur (°F)=°F|Température moteur|Temperatur °C=°C|Motor temp (°F)=°F|Motortemp [°C]=°C|"
        "Temp. moteur °C=°C"
    ),
    "use": "Gültig|Utilisé|Valid",
    "note": "Bemerkung|Remarques|Comment|Anmerkung",
    "run": "Lauf|Essai|Messung|Run no.|Lauf Nr.",
}
HEADERS = [(*each.partition("=")[::2], name) for name, headers in HEADERS_OF.items() for each in headers.split("|")]
CHOICES = {
    "yes": "ja oui wahr y vrai",
    "no": "nein non falsch faux n",
    "peak": "spitze pic crête burst pointe",
    "steady": "dauer stabilisé continuous stationär continu",
    "pack": "akku batterie",
    "bench supply": "netzteil alimentation",
}
OF_CHOICES = (("yes", "no"), ("peak", "steady"), ("pack", "bench supply"))
FORM_WORDS: list[tuple[Form | Table, str, str]] = [
    (MOTOR, "mass_as_supplied", "Gewicht|Poids"),
    (MOTOR, "maker", "Hersteller|Fabricant"),
    (MOTOR, "model", "Modell"),
    (MOTOR, "poles", "Polzahl|Aimants"),
    (MOTOR, "slots", "Nuten|Encoches"),
    (MOTOR, "test_date", "Datum"),
    (MOTOR, "tester", "Prüfer"),
    (MOTOR, "label_kv", "Kv rating"),
    (BENCH, "air_pressure", "Luftdruck|Pression"),
    (BENCH, "air_temperature", "Lufttemperatur|Température de l'air"),
    (BENCH, "air_humidity", "Luftfeuchtigkeit|Humidité"),
    (WINDING, "resistance", "Widerstand|Résistance"),
]
UNITS_AS_WRITTEN = [
    # column of Readings, number in its unit of one of what is written
    ("thrust", 28.349523125, "Unzen onces oz"),
    ("thrust", 453.59237, "Pfund livres"),
    ("thrust", 1000 / 9.80665, "Newton"),
    ("thrust", 1000.0, "kp kg"),
    ("thrust", 1.0, "grammes"),
    ("diameter", 1.0, "Zoll pouces"),
    ("diameter", 1 / 25.4, "mm"),
    ("diameter", 1 / 2.54, "cm"),
    ("diameter", 12.0, "Fuß pieds"),
    ("speed", 1.0, "U/min tr/min"),
    ("speed", 60.0, "1/s tr/s"),
    ("current", 0.001, "mA"),
    ("current", 1.0, "Ampere"),
    ("voltage", 0.001, "mV"),
    ("throttle", 1.0, "Prozent"),
    ("torque", 0.01, "Ncm"),
    ("torque", 0.001, "mNm Nmm"),
    ("torque", 0.0980665, "kg·cm"),
    ("torque", 0.00706155, "oz-in"),
    ("torque", 0.1129848, "in-lb"),
    ("torque", 1.355818, "ft-lb"),
]


def meanings(text: str, fields: dict[str, Field]) -> dict[str, str | None]:
    """Return the fields that a header names, with the unit that it states for each."""
    found = {name: header_meant(text, declared) for name, declared in fields.items()}
    return {name: meant.unit for name, meant in found.items() if meant is not None}


@pytest.mark.parametrize(("header", "unit", "name"), HEADERS)
def test_a_header_means_one_column(header: str, unit: str, name: str) -> None:
    assert meanings(header, READINGS.fields) == {name: unit or None}


@pytest.mark.parametrize(("part", "name", "words"), FORM_WORDS)
def test_a_label_means_one_field(part: Form | Table, name: str, words: str) -> None:
    assert [list(meanings(word, part.fields)) for word in words.split("|")] == [[name]] * len(words.split("|"))


OTHER_WORDS = "Wind|Leistung|Puissance|Power|max|Wirkungsgrad|Power (W)|Strom max|Current W|Humidity %|Lauf-Nr|Max|"


@pytest.mark.parametrize("word", OTHER_WORDS.split("|"))
def test_other_words_mean_no_column(word: str) -> None:
    assert meanings(word, READINGS.fields) == {}


@pytest.mark.parametrize("choices", OF_CHOICES)
def test_a_choice(choices: tuple[str, str]) -> None:
    for choice in choices:
        assert {choice_meant(word, choices) for word in CHOICES[choice].split()} == {choice}


@pytest.mark.parametrize(("name", "wanted", "words"), UNITS_AS_WRITTEN)
def test_one_of_a_unit_as_it_is_written(name: str, wanted: float, words: str) -> None:
    declared = READINGS.fields[name]
    for word in words.split():
        unit = unit_of(word, declared)
        assert unit is not None, word
        assert converted(1.0, unit, declared) == pytest.approx(wanted, rel=1e-6), word
