"""A certificate as a file; its form follows from the end of the file's name."""

import os
from pathlib import Path
from typing import TYPE_CHECKING

from scalewright.errors import InputError

if TYPE_CHECKING:
    from scalewright.certificates.document import Certificate

FORMATS = ("pdf", "html", "csv", "json", "xml")


def format_of(path: str | os.PathLike[str]) -> str:
    """Return the form that a file of this name has. Raises InputError for a name that says none of FORMATS."""
    kind = Path(path).suffix.removeprefix(".").lower()
    if kind not in FORMATS:
        raise InputError(f"{path}: expected a name that ends in {', '.join(FORMATS)}")
    return kind


def rendered(certificate: "Certificate", kind: str, fonts: tuple[str, ...] = ()) -> bytes:
    """Return the bytes of a certificate in one of FORMATS. fonts: as for `pdf.render`."""
    from scalewright.certificates import dcc, html, pdf, spreadsheet

    if kind == "pdf":
        return pdf.render(certificate, fonts)
    if kind == "xml":
        return dcc.render(certificate)
    texts = {"html": html.render, "csv": spreadsheet.results_csv, "json": spreadsheet.as_json}
    return texts[kind](certificate).encode()


def write(path: str | os.PathLike[str], data: bytes) -> None:
    """Put it in place of the file as a whole. Raises InputError where that cannot be done."""
    from scalewright.table_file import replacing

    with replacing(path) as stream:
        stream.buffer.write(data)
