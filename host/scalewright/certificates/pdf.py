"""A certificate on paper: PDF/A-3b, typeset by typst, with the digital certificate attached.

Text goes in as data and is set as text, so nothing in it runs as markup. Fonts are those inside typst, so the same
facts give the same bytes on every machine. A character that those have no glyph for is printed as its code point; a
folder of further fonts may be named.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

from scalewright.certificates import dcc, wording
from scalewright.certificates.document import Certificate
from scalewright.certificates.error_plot import draw
from scalewright.certificates.extras import library
from scalewright.certificates.sheet import sheet
from scalewright.certificates.text import cleaned
from scalewright.errors import ScalewrightError

TEMPLATES = Path(__file__).with_name("templates")
_MISSING = re.compile(r'the text `"((?:[^"\\]|\\.)*)"` could not be displayed')
_ESCAPE = re.compile(r"\\(?:u\{([0-9a-f]+)\}|(.))")


def render(certificate: Certificate, fonts: tuple[str, ...] = ()) -> bytes:
    """Return the PDF. fonts: folders with fonts for characters that typst's own have no glyph for."""
    facts = cleaned(certificate)
    data: dict[str, Any] = asdict(sheet(facts))
    data |= {"plot": draw(facts), "before_rounding": wording.BEFORE_ROUNDING}
    attached = {
        "name": "certificate.xml",
        "text": dcc.render(facts).decode(),
        "relationship": "alternative",
        "mime": "application/xml",
        "description": "The same certificate as a Digital Calibration Certificate",
    }
    return typeset("certificate.typ", data, int(facts.issued_at.timestamp()), fonts, [attached])


def typeset(
    template: str, data: dict[str, Any], timestamp: int, fonts: tuple[str, ...] = (), attachments: Any = ()
) -> bytes:
    """Return the PDF that a template makes of data. Raises InputError without typst."""
    typst = library("typst", "a PDF")
    source = (TEMPLATES / template).read_bytes()
    missing: set[str] = set()
    while True:
        given = {**_spelt_out(data, missing), "attachments": list(attachments)}
        try:
            return bytes(
                typst.compile(
                    source,
                    sys_inputs={"data": json.dumps(given)},
                    pdf_standards="a-3b",
                    ignore_system_fonts=True,
                    font_paths=list(fonts),
                    timestamp=timestamp,
                )
            )
        except typst.TypstError as error:
            found = set(_without_glyph(error.diagnostic)) - missing
            if not found:
                raise ScalewrightError(f"the PDF could not be typeset: {error}") from error
            missing |= found


def _without_glyph(diagnostic: str) -> Iterator[str]:
    """Return the characters that typst says it has no glyph for; it quotes them as Rust does."""
    for quoted in _MISSING.findall(diagnostic):
        text = _ESCAPE.sub(lambda escape: chr(int(escape[1], 16)) if escape[1] else escape[2], quoted)
        yield from (character for character in text if ord(character) > 0x7E)


def _spelt_out(value: Any, missing: set[str]) -> Any:
    """Return data with the missing characters as their code points."""
    if isinstance(value, str):
        return "".join(f"[U+{ord(character):04X}]" if character in missing else character for character in value)
    if isinstance(value, list | tuple):
        return [_spelt_out(item, missing) for item in value]
    if isinstance(value, dict):
        return {key: _spelt_out(item, missing) for key, item in value.items()}
    return value
