"""How a table was saved: its encoding, the sign between cells, the decimal sign of its numbers. One of each for a whole file.

Encoding: UTF-16 if the file begins with its mark, else UTF-8 with or without mark, else Windows-1252.
Separator: the one of comma, semicolon and tab that stands in the header; a header with two of them is refused.
Decimal sign: a number such as `0.5`, `12,75` or `0,125` can be read in one way only and settles the sign of the file; the sign
of most of these numbers holds for all. `1,234` or `1.234` settles nothing, as it may have been meant for 1234: it is read by
the sign that the other numbers settle, and refused when that is the other sign, or when nothing settles it and commas do not
part the cells (where they do, the sign is a point). Points and commas never part thousands; thin and no-break spaces may.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
SIGNS = {".": "a decimal point", ",": "a decimal comma"}
NARROW_SPACES = "\u00a0\u2009\u202f"  # no-break, thin, narrow no-break

_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
_UTF8_LETTER = re.compile(rb"[\xc3-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|\xc2[\xa0-\xbf]")
_DIGIT_GROUPS = re.compile(rf"[+-]?[0-9]{{1,3}}([{NARROW_SPACES}])[0-9]{{3}}(?:\1[0-9]{{3}})*(?![0-9{NARROW_SPACES}])")
_WITH_SIGN = re.compile(r"[+-]?([0-9]*)([.,])([0-9]*)([eE][+-]?[0-9]+)?")


class Undecodable(ValueError):
    """Bytes that are no text in an encoding that is read; `found` says what is there."""

    def __init__(self, found: str):
        self.found = found
        super().__init__(found)


def decoded(content: bytes) -> str:
    """The text of a table, with plain line ends.

    Raises Undecodable: for bytes that Windows-1252 does not define, for NUL, and for a text of which parts are UTF-8 and
    parts are not, since reading it either way would give wrong letters.

    >>> decoded("Größe".encode("cp1252")), decoded("Größe".encode("utf-16"))
    ('Größe', 'Größe')
    """
    if content.startswith(_UTF16_MARKS):
        try:
            text = content.decode("utf-16")
        except UnicodeDecodeError as problem:
            raise Undecodable(f"byte {problem.start} is not UTF-16, whose mark the file has") from None
    else:
        text = _without_utf16_mark(content)
    if "\0" in text:
        raise Undecodable(f"NUL in line {text[: text.index(chr(0))].count(chr(10)) + 1}")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _without_utf16_mark(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        not_utf8 = problem.start
    mixed = _UTF8_LETTER.search(content)
    if content.startswith(b"\xef\xbb\xbf") or mixed:
        raise Undecodable(f"byte {not_utf8} is not UTF-8, though other bytes of the file are")
    try:
        return content.decode("cp1252")
    except UnicodeDecodeError as problem:
        raise Undecodable(f"byte {problem.start} is neither UTF-8 nor Windows-1252") from None


def separators_in(header: str) -> list[str]:
    """The separators that stand in a header line, outside quotes and units; a header of one column has none.

    >>> separators_in("id;title;price [currency]")
    [';']
    """
    bare = re.sub(r'"[^"]*"|\[[^\]]*\]', "", header)
    return [sign for sign in SEPARATORS if sign in bare]


def without_digit_groups(written: str) -> str:
    """A number without the thin or no-break spaces between its thousands; any other text as it is.

    >>> without_digit_groups("1\u202f250,5")
    '1250,5'
    """
    match = _DIGIT_GROUPS.match(written)
    return re.sub(f"[{NARROW_SPACES}]", "", match.group()) + written[match.end() :] if match else written


def sign_of(written: str) -> tuple[str, bool]:
    """The decimal sign of a number, and whether it can be nothing else; an empty sign where there is none.

    >>> sign_of("0,5"), sign_of("1.234"), sign_of("12"), sign_of("97,5 %")
    ((',', True), ('.', False), ('', False), (',', True))
    """
    bare = without_digit_groups(written.strip().removesuffix("%").strip())
    match = _WITH_SIGN.fullmatch(bare)
    if not match:
        return "", False
    whole, sign, behind, power = match.groups()
    grouped = 1 <= len(whole) <= 3 and whole[0] != "0" and len(behind) == 3 and not power
    return sign, not grouped or bare != written.strip().removesuffix("%").strip()


def decimal_sign(numbers: Iterable[str], separator: str) -> tuple[str, str]:
    """The decimal sign of a file and the number that shows it; an empty sign where nothing settles it.

    >>> decimal_sign(["12", "1.234", "0,5"], ";"), decimal_sign(["1.234"], ","), decimal_sign(["1.234"], ";")
    ((',', '0,5'), ('.', ''), ('', ''))
    """
    shown: dict[str, list[str]] = {}
    for written in numbers:
        sign, settled = sign_of(written)
        if settled:
            shown.setdefault(sign, []).append(written)
    if shown:
        sign = max(shown, key=lambda each: len(shown[each]))
        return sign, shown[sign][0]
    return ("." if separator == "," else ""), ""


def refused_number(written: str, sign: str, shown: str) -> tuple[str, str] | None:
    """What is found and what is allowed where a number does not have the decimal sign of its file, as `decimal_sign` gives it.

    >>> refused_number("1.234", ",", "0,5")[0]
    "'1.234' in a file with a decimal comma, as in '0,5'"
    """
    own, _ = sign_of(written)
    if not own or own == sign:
        return None
    if not sign:
        whole = written.replace(own, "")
        return f"'{written}', which may be {whole} or {written.replace(own, '.')}", f"{whole}, or {written}0"
    shows = f", as in '{shown}'" if shown else ", since commas part its cells"
    return (
        f"'{written}' in a file with {SIGNS[sign]}{shows}",
        "one decimal sign in the whole file, and neither . nor , between thousands",
    )
