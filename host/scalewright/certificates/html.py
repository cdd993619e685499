"""A certificate on a screen: one HTML file that holds everything, prints well, loads nothing and runs nothing."""

from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Any

from scalewright.certificates import wording
from scalewright.certificates.document import Certificate
from scalewright.certificates.error_plot import draw
from scalewright.certificates.extras import library
from scalewright.certificates.sheet import sheet
from scalewright.certificates.text import cleaned

TEMPLATES = Path(__file__).with_name("templates")


def render(certificate: Certificate) -> str:
    """Return the page. Every text is escaped. Raises InputError without Jinja2."""
    facts = cleaned(certificate)
    page: str = _template().render(
        **asdict(sheet(facts)), plot=draw(facts), before_rounding=wording.BEFORE_ROUNDING
    )
    return page


@cache
def _template() -> Any:
    jinja2 = library("jinja2", "an HTML page")
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True)
    return environment.from_string((TEMPLATES / "certificate.html").read_text(encoding="utf-8"))
