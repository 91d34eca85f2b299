"""Pages: every template escapes, nothing stands inline, and every answer carries the strict policy."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from jinja2 import Environment, nodes

from intake.config import PACKAGE, data_root
from intake.i18n.templates import environment
from intake.web.headers import POLICY

INLINE = re.compile(
    r"<style|<[^>]*\sstyle\s*=|<[^>]*\son[a-z]+\s*=|<script(?![^>]*\ssrc=)|hx-on|hx-vals=.js|javascript:|<base"
)
MARKED_SAFE = {
    "qr.py",  # drawn by us from an address of ours
    "paper/drawings",  # drawings of numbers; words go in through markupsafe's escape
}


def templates(*suffixes: str) -> list[Path]:
    """Every template there is."""
    folders = (data_root() / "templates", PACKAGE)
    found = [path for folder in folders for path in folder.rglob("*") if path.suffix in suffixes]
    assert len(found) > 20 or suffixes != (".html",)
    return sorted(found)


def environments(site: Any) -> list[Environment]:
    """The two that fill in templates."""
    return [site.app.jinja_env, environment("en")]


def test_every_template_escapes_in_every_environment(site: Any) -> None:
    for path in templates(".html"):
        for env in environments(site):
            escapes = env.autoescape(path.name) if callable(env.autoescape) else env.autoescape
            assert escapes is True, (path, env)
    hostile = "<b onclick='x'>\"&"
    for env in environments(site):
        made = env.from_string('<a title="{{ a }}">{{ a }}</a>').render(a=hostile)
        assert made.count("&lt;b onclick=&#39;x&#39;&gt;&#34;&amp;") == 2


def test_no_template_turns_escaping_off(site: Any) -> None:
    for path in templates(".html", ".txt", ".svg", ".webmanifest"):
        tree = (
            site.app.jinja_env.parse(path.read_text("utf-8"))
            if path.suffix == ".html"
            else nodes.Template([])
        )
        used = {found.name for found in tree.find_all(nodes.Filter)}
        assert not used & {"safe", "xmlattr", "pprint"}, path
        assert not list(tree.find_all(nodes.ScopedEvalContextModifier)), path


def test_the_check_above_finds_what_is_planted(site: Any) -> None:
    tree = site.app.jinja_env.parse("{{ a|safe }}{% autoescape false %}{{ a }}{% endautoescape %}")
    assert [found.name for found in tree.find_all(nodes.Filter)] == ["safe"]
    assert list(tree.find_all(nodes.ScopedEvalContextModifier))


def test_what_is_filled_into_a_tag_stands_in_quotes() -> None:
    """Without quotes a space in a value would begin another attribute."""
    for path in templates(".html"):
        for tag in re.findall(r"<[a-z][^<>]*?=\s*\{\{[^<>]*?>", path.read_text("utf-8")):
            assert '"' in tag[: tag.index("{{")] and re.search(r'="[^"]*\{\{', tag), (path, tag)


def marked_safe() -> Iterator[str]:
    """Where words other than constants are called safe markup."""
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            called = (
                isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Markup"
            )
            if called and not all(isinstance(given, ast.Constant) for given in node.args):  # type: ignore[attr-defined]
                name = path.relative_to(PACKAGE).as_posix()
                yield "paper/drawings" if name.startswith("paper/drawings/") else name


def test_only_drawings_and_codes_are_called_safe() -> None:
    assert set(marked_safe()) <= MARKED_SAFE


def test_scripts_write_no_words_as_markup() -> None:
    """What is typed goes in as text; three places write markup: numbers, our book's ids, and what this page
    itself brought for browsers without script."""
    found = {}
    for path in sorted((data_root() / "static").rglob("*.js")):
        if "vendor" in path.parts:
            continue
        script = path.read_text("utf-8")
        assert not re.search(r"\beval\(|new Function|document\.write|insertAdjacentHTML", script), path
        if count := len(re.findall(r"(?:inner|outer)HTML\s*[+]?=[^=]", script)):
            found[path.name] = count
    assert found == {"frets.js": 1, "pins.js": 1, "wizard.js": 1}
    assert 'all("noscript", box)) waits.outerHTML = waits.textContent' in script_of("wizard.js")


def script_of(name: str) -> str:
    return (data_root() / "static" / "js" / name).read_text("utf-8")


def pages(site: Any, example: Callable[..., object]) -> Iterator[tuple[str, str, Any]]:
    """Every page there is, as those see it who may; and pages that say what is wrong."""
    adapter = site.app.url_map.bind("localhost")
    values = {
        "ticket": site.here.ticket, "token": site.here.token, "revision": 1, "number": 2,
        "sha": site.here.sha, "sha256": site.here.sha, "filename": "css/tallyfret.css",
    }  # fmt: skip
    asked = [
        adapter.build(
            rule.endpoint, {n: values.get(n, example(rule, n)) for n in rule.arguments}, method="GET"
        )
        for rule in site.app.url_map.iter_rules()
        if "GET" in (rule.methods or ())
    ]
    asked += ["/no/such/page", "/q/none", "/media/none.jpg", f"/tickets/{site.here.ticket}/quotes/9", "/?q=x"]
    for who in ("owner", "counter", "nobody"):
        for address in asked:
            yield who, address, site.client(who).get(address)
    for who, address in (("nobody", "/"), ("owner", "/people/staff"), ("nobody", f"{site.here.page}/yes")):
        yield who, address, site.client(who).post(address, data={"name": "<b>"})


def test_every_page_is_under_the_strict_policy_and_holds_nothing_inline(
    site: Any, example: Callable[..., object]
) -> None:
    shown = 0
    for who, address, answer in pages(site, example):
        place = f"{who} {address}"
        if "sandbox" not in answer.headers.get("Content-Security-Policy", "sandbox"):
            assert answer.headers["Content-Security-Policy"] == POLICY, place
        assert answer.headers["X-Content-Type-Options"] == "nosniff", place
        if answer.mimetype == "text/html":
            shown += 1
            assert not INLINE.search(answer.text), (place, INLINE.search(answer.text))
            assert answer.headers["Cache-Control"] in ("no-store", "no-cache", "no-store, private"), place
    assert shown > 60
    assert "unsafe" not in POLICY and "*" not in POLICY and "http" not in POLICY


@pytest.mark.parametrize(
    "planted",
    [
        '<p style="x">',
        "<p onclick='x'>",
        "<script>x</script>",
        "<style>",
        '<a href="javascript:x">',
        "<base href=x>",
    ],
)
def test_the_check_for_inline_finds_what_is_planted(planted: str) -> None:
    assert INLINE.search(planted)
    assert not INLINE.search(
        '<script src="/static/x.js"></script><p class="on" data-style="x">onto = style ='
    )


def test_hostile_words_come_back_as_words(site: Any) -> None:
    """Typed at the counter, they are shown to staff and to the customer as typed."""
    hostile = "<img src=x onerror=alert(1)>\"'{{7*7}}"
    client, here = site.client("counter"), site.here
    (version,) = re.findall(r'data-version="(\d+)"', client.get(f"/tickets/{here.ticket}").text)

    saved = client.post(
        f"/tickets/{here.ticket}/steps/customer",
        data={"customer_name": hostile, "customer_phone": hostile, "based_on": version},
    )

    assert saved.status_code in (200, 422)
    for address in ("/", f"/tickets/{here.ticket}", f"/tickets/{here.ticket}/summary", "/?q=img"):
        text = client.get(address).text
        assert "<img src=x" not in text and "49" not in re.findall(r"\{\{7\*7\}\}|>49<", text), address
    assert "&lt;img src=x onerror=alert(1)&gt;" in client.get("/").text
