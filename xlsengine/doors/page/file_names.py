"""Names of files that came from elsewhere, made names that lie in one folder and that any system takes."""

import re
from pathlib import PurePosixPath

LONGEST = 150
_NOT_IN_NAMES = re.compile(r'[\x00-\x1f\x7f-\x9f<>:"|?*\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]')
_RESERVED = re.compile(r"(?i:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?")


def safe_name(name: str) -> str:
    """Return a file's name without folders and without signs that some system refuses; an ordinary one stays as it is.

    >>> safe_name("motor 2207.xlsx"), safe_name("../../etc/x.xlsx"), safe_name("C:\\\\a\\\\..."), safe_name("nul.xlsx")
    ('motor 2207.xlsx', 'x.xlsx', 'workbook', '_nul.xlsx')
    """
    last = _NOT_IN_NAMES.sub("_", re.split(r"[/\\]", name)[-1]).strip().lstrip(".").rstrip(". ")
    path = PurePosixPath(last or "workbook")
    stem = path.stem.encode()[: LONGEST - len(path.suffix.encode())].decode("utf-8", "ignore")
    whole = stem.rstrip() + path.suffix if len(path.suffix) < 20 else "workbook"
    return f"_{whole}" if _RESERVED.fullmatch(whole) else whole
