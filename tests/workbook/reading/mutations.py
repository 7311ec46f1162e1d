"""Seeded damage to small workbooks: odd cells, odd parts, odd archives."""

import io
import random
import re
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

Parts = dict[str, bytes]
_ODD = (
    "| |-|—|n/a|k. A.|38,2|38.2 A|1,250|1.250|1 250|1'250,5|44 oz|1.25 kg|12 N|~38|38-40|38..2|3O.5|½|"
    "5²|0x10|inf|nan|1e999|-0|５|١٢|=1+1|+1|@x|#REF!|5x4.3x3|5043|52353|5×4,3|peak|Spitze|max|ja|oui|"
    "TRUE|2026-05-04|04.05.2026|4. Mai 2026|1/2|{=A1}|<r>x</r>|]]>|&amp;|_x0041_|_xD800_|\u202e38|a\u0301|🛩|"
    "字|\x0b"
)
_LONG = ("x" * 40000, "9" * 400, "1," * 200, "1x" * 300)
ODD_TEXTS = (*_ODD.split("|"), *_LONG, "\xa038\u202f", "−3", "'38", '"38"', "38;39", "38\n39")
_ATTRIBUTES = (
    b"|-1|0|1|99999999999|1e999|nan|x y|A1:XFD1048576|A1|#REF!|\xce\xa9|&#10;|true|../../../etc/passwd|"
    b"/xl/workbook.xml|http://example.invalid/x|rId1|rId999|External|s|d|e|inlineStr"
)
ODD_ATTRIBUTES = _ATTRIBUTES.split(b"|")
PLACES = re.compile(rb'(?<==")[^"]*(?=")|(?<=>)[^<]+(?=<)')
ELEMENTS = re.compile(rb"<([A-Za-z:]+)[^<>]*?(?:/>|>[^<>]*</\1>)")


def escaped(text: str) -> str:
    """Return a text as it may stand in a part."""
    text = text.replace("_x", "_x005F_x")
    held = "".join(sign if sign >= " " or sign in "\n\t" else f"_x{ord(sign):04X}_" for sign in text)
    return held.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def parts_of(path: Path) -> Parts:
    """Return the parts of a workbook."""
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def packed(parts: Parts) -> bytes:
    """Return parts as an archive."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return held.getvalue()


def with_odd_cells(parts: Parts, chance: random.Random, sheet: str) -> tuple[bytes, dict[str, str]]:
    """Put odd texts into a few cells of a sheet; returns the archive and the texts by address."""
    xml = parts[sheet].decode()
    cells = re.findall(r'<c r="([A-P](?:[6-9]|1[0-2]))"', xml)
    typed = {address: chance.choice(ODD_TEXTS) for address in chance.sample(cells, chance.choice((1, 2, 3, 4, 12)))}
    for address, text in typed.items():
        held = f' t="inlineStr"><is><t xml:space="preserve">{escaped(text)}</t></is></c>'
        xml = re.sub(rf'(<c r="{address}"[^>]*?)(?: t="\w+")?(?:/>|>.*?</c>)', lambda f, h=held: f[1] + h, xml, count=1)  # type: ignore[misc]
    return packed({**parts, sheet: xml.encode()}), typed


def _reword(xml: bytes, chance: random.Random) -> bytes:
    places = list(PLACES.finditer(xml))
    for place in sorted(chance.sample(places, min(3, len(places))), key=lambda found: -found.start()):
        xml = xml[: place.start()] + chance.choice(ODD_ATTRIBUTES) + xml[place.end() :]
    return xml


def _drop_element(xml: bytes, chance: random.Random) -> bytes:
    found = list(ELEMENTS.finditer(xml))
    if not found:
        return xml
    one = chance.choice(found)
    return xml[: one.start()] + xml[one.end() :]


def _double_element(xml: bytes, chance: random.Random) -> bytes:
    found = list(ELEMENTS.finditer(xml))
    if not found:
        return xml
    one = chance.choice(found)
    return xml[: one.end()] + one[0] * chance.choice((1, 2, 50)) + xml[one.end() :]


def _flip(content: bytes, chance: random.Random) -> bytes:
    changed = bytearray(content)
    for _ in range(chance.choice((1, 3, 20)) if changed else 0):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def _cut(content: bytes, chance: random.Random) -> bytes:
    return content[: chance.randrange(len(content) + 1)]


def _entities(xml: bytes, chance: random.Random) -> bytes:
    start = xml.find(b"?>") + 2
    return xml[:start] + b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>' + xml[start:]


def _deep(xml: bytes, chance: random.Random) -> bytes:
    end = xml.rfind(b"</")
    return xml[:end] + b"<x>" * 5000 + b"</x>" * 5000 + xml[end:]


def _recode(xml: bytes, chance: random.Random) -> bytes:
    text = xml.decode("utf-8", errors="replace")
    return chance.choice((text.encode("utf-16"), text.encode("latin-1", "xmlcharrefreplace"), b"\xef\xbb\xbf" + xml))


PART_CHANGES: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _reword,
    _reword,
    _reword,
    _drop_element,
    _drop_element,
    _double_element,
    _flip,
    _cut,
    _entities,
    _deep,
    _recode,
)


def with_odd_part(parts: Parts, chance: random.Random) -> bytes:
    """Change one or two parts of a workbook."""
    changed = dict(parts)
    for name in chance.sample(sorted(parts), chance.randint(1, 2)):
        changed[name] = chance.choice(PART_CHANGES)(changed[name], chance)
    return packed(changed)


def with_odd_archive(parts: Parts, chance: random.Random) -> bytes:
    """Change the archive itself: parts gone, doubled, renamed, exchanged; headers and bytes that lie."""
    names = sorted(parts)
    one, other = chance.sample(names, 2)
    match chance.randrange(8):
        case 0:
            return packed({name: held for name, held in parts.items() if name != one})
        case 1:
            return packed({**parts, one: parts[other], other: parts[one]})
        case 2:
            odd = chance.choice(
                ("../" + one, "/" + one, "C:\\" + one, one.upper(), one + "\\x", "xl/vbaProject.bin", "x" * 300)
            )
            return packed({**{name: held for name, held in parts.items() if name != one}, odd: parts[one]})
        case 3:
            return packed({**parts, "xl/media/junk.bin": chance.randbytes(5000)})
        case 4:
            return _flip(packed(parts), chance)
        case 5:
            return _cut(packed(parts), chance)
        case 6:
            return _lying(bytearray(packed(parts)), chance)
    return chance.randbytes(50) + packed(parts) + chance.randbytes(50)


def _lying(content: bytearray, chance: random.Random) -> bytes:
    """Change a field of a directory entry: version, flags, method, sizes, lengths or offset."""
    entries = [found.start() for found in re.finditer(rb"PK\x01\x02", bytes(content))]
    place = chance.choice(entries) + chance.choice((4, 8, 10, 20, 24, 28, 30, 42))
    struct.pack_into("<H", content, place, chance.choice((0, 1, 8, 9, 12, 14, 99, 65535)))
    return bytes(content)
