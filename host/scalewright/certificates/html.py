"""A certificate on a screen: one HTML file that holds everything, prints well, loads nothing and runs nothing."""

from dataclasses import asdict
from pathlib import Path

from scalewright.certificates import wording
from scalewright.certificates.document import Certificate
from scalewright.certificates.error_plot import draw
from scalewright.certificates.extras import library
from scalewright.certificates.sheet import sheet
from scalewright.certificates.text import cleaned

TEMPLATES = Path(__file__).with_name("templates")


def render(certificate: Certificate) -> str:
    """Return the page. Every text is escaped. Raises InputError without Jinja2."""
    jinja2 = library("jinja2", "an HTML page")
    facts = cleaned(certificate)
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True)
    template = environment.from_string((TEMPLATES / "certificate.html").read_text(encoding="utf-8"))
    page: str = template.render(
        **asdict(sheet(facts)), plot=draw(facts), before_rounding=wording.BEFORE_ROUNDING
    )
    return page
