"""The certificate on a screen: one file that loads nothing and runs nothing."""

import sys

import pytest
from lxml import etree

from scalewright.certificates import html
from scalewright.errors import InputError
from tests.host.certificates.cases import CASES, KITCHEN
from tests.host.certificates.forms import page


@pytest.mark.parametrize("name", CASES)
def test_it_loads_nothing_and_runs_nothing(name: str) -> None:
    tags = page(CASES[name]).tags
    assert not {"script", "link", "img", "iframe", "object", "embed", "form", "a", "base"} & {tag for tag, _ in tags}
    attributes = [key for _, found in tags for key in found]
    assert not [key for key in attributes if key.startswith("on") or key in ("src", "href", "action", "style")]
    assert "url(" not in html.render(CASES[name])


def test_every_tag_that_is_opened_is_closed() -> None:
    text = html.render(KITCHEN).removeprefix("<!DOCTYPE html>\n").strip()
    body = text[text.index("<body>") :].replace("<br>", "<br/>").removesuffix("</html>").strip()
    assert etree.fromstring(body).tag == "body"


def test_the_same_facts_give_the_same_page() -> None:
    assert html.render(KITCHEN) == html.render(KITCHEN)


def test_without_jinja2_one_line_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "jinja2", None)
    html._template.cache_clear()
    with pytest.raises(InputError, match=r"an HTML page needs jinja2 \(pip install 'scalewright\[report\]'\)"):
        html.render(KITCHEN)
