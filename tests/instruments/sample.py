"""A small clean workbook that uses everything the linter has rules for, to be broken by its tests."""

from pathlib import Path

import xlsxwriter

VOLTS = "bench[[#This Row],[Voltage (V)]]"
AMPS = "bench[[#This Row],[Current (A)]]"
POWER = f'IF(COUNT({VOLTS},{AMPS})<2,"",{VOLTS}*{AMPS}*factor)'
PLOTTED = "IF(ISNUMBER(bench[[#This Row],[Power (W)]]),bench[[#This Row],[Power (W)]],NA())"


def write_clean(path: Path) -> None:
    """Write the workbook; its readings are invented."""
    with xlsxwriter.Workbook(str(path)) as workbook:
        readings, settings = workbook.add_worksheet("Readings"), workbook.add_worksheet("Set up")
        for sheet in (readings, settings):
            sheet.set_landscape()
            sheet.fit_to_pages(1, 0)
            sheet.set_footer("&P of &N")
        workbook.define_name("factor", "='Set up'!$B$1")
        workbook.define_name("kinds", "='Set up'!$A$2:$A$3")
        write_settings(settings)
        write_readings(readings)
        write_summary(readings)
        validate(readings)
        mark = workbook.add_format({"bold": True})
        readings.write_blank("K1", None, mark)
        readings.conditional_format("B2:B4", {"type": "formula", "criteria": "=$B2>factor", "format": mark})
        readings.conditional_format("C2:C4", {"type": "data_bar", "data_bar_2010": True})
        chart = workbook.add_chart({"type": "scatter"})
        columns = {"categories": "=Readings!$C$2:$C$4", "values": "=Readings!$E$2:$E$4"}
        chart.add_series({**columns, "name": "=Readings!$E$1"})
        readings.insert_chart("H12", chart, {"description": "Power against current"})


def write_settings(settings: xlsxwriter.worksheet.Worksheet) -> None:
    settings.write_row("A1", ["factor", 1.0])
    settings.write_column("A2", ["peak", "steady"])
    settings.add_table("D1:E3", {"name": "limits", "columns": [{"header": "Limit"}, {"header": "Value"}]})
    settings.write_formula("F2", "=ROUND(factor,0)", None, 1)
    settings.print_area("A1:C9")
    settings.repeat_rows(0)
    settings.repeat_columns("A:A")


def write_readings(readings: xlsxwriter.worksheet.Worksheet) -> None:
    for row, (volts, amps) in enumerate([(11.1, 4.0), (10.9, 8.0)], start=2):
        readings.write_row(f"A{row}", ["peak", volts, amps])
    headers = [{"header": "Kind"}, {"header": "Voltage (V)"}, {"header": "Current (A)"}]
    derived = [{"header": "Power (W)", "formula": f"={POWER}"}, {"header": "Plotted (W)", "formula": f"={PLOTTED}"}]
    readings.add_table("A1:E4", {"name": "bench", "columns": headers + derived})
    for row, watts in enumerate([11.1 * 4.0, 10.9 * 8.0, ""], start=2):
        readings.write_formula(f"D{row}", f"={POWER}", None, watts)
        readings.write_formula(f"E{row}", f"={PLOTTED}", None, "#N/A" if watts == "" else watts)


def write_summary(readings: xlsxwriter.worksheet.Worksheet) -> None:
    readings.write_formula("G1", "=SUM(bench[Power (W)])", None, 11.1 * 4.0 + 10.9 * 8.0)
    readings.write_formula("G2", "=SUMPRODUCT(--(bench[Current (A)]>5),bench[Voltage (V)])", None, 10.9)
    readings.write_array_formula("G3:G3", "{=MAX(IF(B2:B4>0,B2:B4))}", None, 11.1)
    readings.write_formula("G4", '=HYPERLINK("#\'Set up\'!B1","see "&ROUND(factor,1))', None, "see 1")
    readings.write_formula("G5", "=B2>10", None, True)
    readings.write_formula("G6", "=_xlfn.STDEV.S(B2:B3)", None, 0.1414213562373093)
    readings.write_formula("G7", "=bench[[#Headers],[Power (W)]]", None, "Power (W)")
    readings.write_url("G8", "internal:'Set up'!A1", string="settings")
    readings.write_url("I1", "https://example.org/bench", string="elsewhere")
    readings.merge_range("G9:H9", "merged")
    readings.merge_range("G10:H10", "merged as well")


def validate(readings: xlsxwriter.worksheet.Worksheet) -> None:
    readings.data_validation("A2:A4", {"validate": "list", "source": "=kinds"})
    readings.data_validation("A10", {"validate": "list", "source": ["yes", "no"]})
    readings.data_validation("A11", {"validate": "custom", "value": "=ISNUMBER(A11)"})
    readings.data_validation("A12", {"validate": "integer", "criteria": ">", "value": 2})
    readings.data_validation("A13", {"validate": "any", "input_title": "Note"})
    limits = {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 500}
    readings.data_validation("B2:C4", limits)
