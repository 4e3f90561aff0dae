"""The help: a page for everything, figures as in the engine, links that lead somewhere."""

import json
import re
from importlib import resources

import pytest

from patternsim import pages
from patternsim.answers.barbs import MOST, PLAIN_DEG
from patternsim.answers.judging import PLAIN_WATCH_MM
from patternsim.answers.tip import HEADING_MM, LAST_MM, NEAR_MM, ON_MM
from patternsim.data import resource
from patternsim.errors import UsageError
from patternsim.forming import RATIO_MOST
from patternsim.job import Blade, GrindNumbers, Place
from patternsim.kinds import step_kinds
from patternsim.press.wedge import ANGLES_DEG
from patternsim.relay import FIT_MM
from patternsim.shop import Shop
from patternsim.sizes import SizeError, format_length, parse_length, parse_number
from patternsim.step import REGISTRY, HotStep
from patternsim.steps.crush_corners import MOST_FLAT, OUT_OF_SQUARE
from patternsim.verify import CHECKS
from patternsim.verify.check import worked

FOLDER = resources.files("patternsim.data").joinpath("help")
KINDS = sorted(REGISTRY)
NAMES = [topic.name for topic in pages.topics()]
LINK = re.compile(r"\[([^\]]+)\]\(([^)]+)\)")
SECTIONS = ["The layers", "Look before you go on", "What can go wrong", "Worked out here"]
PRACTICE = "common practice, no source"

# Where the work is hot, sharp, heavy or poisonous; laying down and picking up has its dangers too.
DEFERS = re.compile(r"\b(?:data sheets?|manual|rules|codes?)\b.*\bcomes? first\b", re.DOTALL)


def written(name):
    """Return the part of a page that is written by hand."""
    return FOLDER.joinpath(f"{name}.md").read_text(encoding="utf-8")


def running(text):
    """Return a page's text without line ends and link targets, to look for sentences in."""
    return " ".join(LINK.sub(r"\1", text.replace("\n> ", " ")).split())


def count(text):
    """Return how many words there are to be read."""
    return len(re.findall(r"[\w'\u2019./-]*\w[\w'\u2019./-]*", LINK.sub(r"\1", text)))


def table(text):
    """Return the rows of all tables of a page, cells stripped, rules left out."""
    rows = [re.split(r"(?<!\\)\|", line)[1:-1] for line in text.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in row] for row in rows if set("".join(row)) - set("- :")]


# --- what there is -----------------------------------------------------------------------


def test_there_is_a_page_for_every_kind_and_none_without_a_topic():
    assert set(KINDS) < set(NAMES)
    assert sorted(file.name for file in FOLDER.iterdir()) == sorted(f"{name}.md" for name in NAMES)


def test_topics_are_named_once_and_grouped():
    assert len(set(NAMES)) == len(NAMES)
    assert len({topic.title for topic in pages.topics()}) == len(NAMES)
    groups = [topic.group for topic in pages.topics()]
    assert list(dict.fromkeys(groups)) == ["The program", "The trade", "Steps"]
    assert groups == sorted(groups, key=list(dict.fromkeys(groups)).index)


@pytest.mark.parametrize("topic", pages.topics(), ids=lambda topic: topic.name)
def test_a_page_begins_with_its_title(topic):
    first, blank, third = pages.page(topic.name).splitlines()[:3]
    assert first == f"# {topic.title}"
    assert not blank
    assert third
    assert written(topic.name).count("\n# ") == 0


@pytest.mark.parametrize("kind", KINDS)
def test_a_step_is_told_in_four_parts_and_few_words(kind):
    text = written(kind)
    assert re.findall(r"^## (.+)$", text, re.MULTILINE) == SECTIONS
    assert 120 <= count(text) <= 250
    assert running(text).count(PRACTICE) == 1


@pytest.mark.parametrize("name", pages.GENERAL)
def test_a_general_page_is_no_book(name):
    assert 150 <= count(written(name)) <= 500


@pytest.mark.parametrize("kind", KINDS)
def test_a_step_has_its_caution_and_says_what_comes_first(kind):
    cautions = re.findall(
        r"^> \*\*Caution\.\*\* .+?(?=\n\n|\Z)", written(kind), re.MULTILINE | re.DOTALL
    )
    assert len(cautions) == 1
    assert DEFERS.search(running(cautions[0]))
    assert "(cautions.md)" in cautions[0]


@pytest.mark.parametrize("kind", [kind for kind in KINDS if issubclass(REGISTRY[kind], HotStep)])
def test_a_hot_step_warns_of_what_heat_or_press_do(kind):
    caution = written(kind).partition("> **Caution.**")[2]
    assert re.search(r"\b(?:hot|heat|burn|load|tip|roll|kick)", caution, re.IGNORECASE)


@pytest.mark.parametrize("kind", ["cut", "slice", "trim", "grind-clean"])
def test_saw_and_grinder_are_warned_of(kind):
    caution = written(kind).partition("> **Caution.**")[2].lower()
    assert "dust" in caution
    assert re.search(r"goggles|respirator", caution)


def test_the_cautions_name_every_danger_and_whom_to_ask():
    text = running(written("cautions")).lower()
    for danger in (
        "carbon monoxide", "flux", "galvanised", "press", "oil hose", "dust", "nickel", "quench oil",
        "never water in the tank", "acid goes into water", "hazardous waste",
    ):  # fmt: skip
        assert danger in text
    for authority in ("data sheet", "local code", "licensed", "maker's manual", "fire authority"):
        assert authority in text
    parts = written("cautions").split("\n## ")[1:]
    assert all("Defer to" in part for part in parts)


# --- what is said is so ------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_links_lead_to_other_pages(name):
    for words, target in LINK.findall(pages.page(name)):
        assert words.strip()
        assert target.endswith(".md")
        assert target.removesuffix(".md") in set(NAMES) - {name}
        assert pages.page(target) == pages.page(target.removesuffix(".md"))


@pytest.mark.parametrize("name", NAMES)
def test_nobody_and_nothing_is_advertised(name):
    text = pages.page(name)
    assert not re.findall(r"[®™©@]|https?:|www\.|\b(?:Inc|Ltd|GmbH)\b", text)
    prose = re.sub(r"^(?:#|\|).*$", "", text, flags=re.MULTILINE)
    prose = running(re.sub(r"\*\*[^*]+\*\*|`[^`]+`", "", prose))
    # Words with a capital inside a sentence: keys, the answers, and the two authors of a law.
    inside = set(re.findall(r"(?<=[a-z,;] )[A-Z][a-z]{2,}", prose))
    assert inside <= {
        "Barbs", "Ctrl", "Down", "Enter", "Esc", "Page", "Press", "Risk", "Shift", "Steel", "Stringer",
        "Tab", "Tip", "Tomlinson", "Grind", "Restack", "Lay",
    }  # fmt: skip


def test_limits_of_the_answers_are_those_judged_by():
    text = running(written("answers"))
    assert f"| on | {ON_MM:g} mm or less, or half the width of the shaft" in text
    assert f"| near | at most {NEAR_MM:g} mm: watch" in text
    assert f"within {PLAIN_DEG:g}° of square" in text
    assert f"{MOST:.0%}".replace("%", " %") in text
    assert f"More than {PLAIN_WATCH_MM:g} mm of blade without a centre line" in text
    assert f"last {HEADING_MM:g} mm" in text
    assert f"last {LAST_MM:g} mm" in text


def test_limits_told_on_step_pages_are_those_that_refuse():
    assert f"square within {OUT_OF_SQUARE:.0%}".replace("%", " %") in running(written("crush-corners"))
    assert f"at most {MOST_FLAT:g} of the side" in running(written("crush-corners"))
    first, second, third = (f"{angle:g}" for angle in ANGLES_DEG)
    assert f"wedges of {first}, {second} and {third}°" in running(written("split"))
    assert f"at most {RATIO_MOST:g} times thinner" in running(written("taper"))
    for kind in ("restack", "join"):
        assert f"may differ by {FIT_MM:g} mm" in running(written(kind))


def test_trust_is_told_as_in_the_readme(root):
    readme = running((root / "README.md").read_text(encoding="utf-8"))
    told = running(written("trust"))
    for figure in ("0.2 to 2.5 % of the bar's width", "Tomlinson and Stringer"):
        assert figure in readme
        assert figure in told
    for thing in ("shaft", "gaps", "press force", "heat treatment", "coarse", "fine"):
        assert thing in told


def test_published_problems_stand_on_the_page_as_the_command_finds_them():
    kept = {row["name"]: row for row in json.loads(resource("verified.json").read_text("utf-8"))}
    assert list(kept) == [check.name for check in CHECKS]
    text = pages.page("trust")
    for check in CHECKS:
        row = kept[check.name]
        assert check.name in text
        assert row["published"] == pytest.approx(check.published, rel=1e-9)
        assert row["tolerance"] == check.tolerance
        if "punch" in check.name or "even" in check.source or "height 1," in check.name:
            assert worked(check).computed == pytest.approx(row["computed"], rel=1e-3, abs=1e-4)


def test_every_size_on_the_page_is_read_as_it_says():
    rows = [row for row in table(written("sizes")) if row[0] != "Typed"]
    assert len(rows) > 10
    for typed, told in rows:
        text = typed.strip("`")
        if told.startswith("refused"):
            with pytest.raises(SizeError):
                parse_length(text, "mm")
        else:
            assert float(parse_length(text, "mm")) == float(told.removesuffix(" mm"))


def test_other_examples_on_the_page_about_sizes_hold():
    text = running(written("sizes"))
    with pytest.raises(SizeError):
        parse_length("1,234.5 mm", "mm")
    assert parse_length('1" - 1/8"', "mm") * 8 == 7 * parse_length("1 in", "mm")
    for example, unit, value in (
        ("22 1/2", "deg", 22.5), ("22.5 deg", "deg", 22.5), ("12.5 %", "%", 12.5),
        ("1150 C", "degC", 1150.0),
    ):  # fmt: skip
        assert f"`{example}`" in text
        assert float(parse_number(example, unit)) == value
    assert "`2100 F`" in text
    assert float(parse_number("2100 F", "degC")) == pytest.approx((2100 - 32) * 5 / 9)
    assert "to the nearest 1/32, with a `~`" in text
    assert format_length(25.4 / 32, "in") == '1/32"'
    assert format_length(40.0, "in").startswith("~")


# --- the table of values -----------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_the_table_has_every_value_of_the_step_with_its_words(kind):
    text = pages.page(kind).partition("## Values\n")[2]
    rows = table(text)
    assert rows[0] == ["Value", "Usual", "Limits", "Why"]
    assert {len(row) for row in rows} == {4}
    told = {(row[0].partition(" (")[0], row[3]) for row in rows[1:]}
    for name, info in REGISTRY[kind].model_fields.items():
        extra = info.json_schema_extra
        if name in ("kind", "id", "skip", "stage"):
            assert not extra or (extra["label"], extra["reason"]) not in told
        else:
            assert (extra["label"], extra["reason"]) in told


@pytest.mark.parametrize(
    ("kind", "row"),
    [
        ("split", "| Wedge, included (deg) | 45 | 5 to 120 | both flanks together;"),
        ("split", "| Wedge runs | down | down or up | down:"),
        ("split", "| Off centre (mm) | 0 | -200 to 200 |"),
        ("draw", "| Width (mm) | to be given | over 0 to 1000 |"),
        ("draw", "| Bite (mm) | left out | over 0 to 500 |"),
        ("draw", "| Temperature (°C) | 1150 | 700 to 1320 |"),
        ("stack", "| Strips | to be given |  |"),
        ("stack", "| Strips: Thickness (mm) | to be given | over 0 to 200 |"),
        ("cut", "| Set aside | none |  |"),
        ("cut", "| Set aside: Length (mm) | to be given | over 0 to 5000 |"),
        ("press-on-edge", "| Lay over a quarter first | yes | yes or no |"),
        ("mark", "| On | mark side | mark side, off side, low edge, high edge, near end or far end |"),
        ("turn", "| Degrees | 90 | 90, 180 or 270 |"),
        ("reweld", "| Closed to | 0.95 | 0.5 to 1 |"),
        ("stack", "| Repeat | 1 | 1 to 10000 |"),
        ("blade", "| Place: Tip towards the | far | near or far | end of the bar the tip points to |"),
        ("blade", "| Grind: Grind | left out | flat or dagger |"),
        ("blade", "| Outline | none |  |"),
        ("shop", "| Saw kerf (mm) | 2 | 0 to 10 |"),
        ("shop", "| Skin lost in a forging heat (mm) | 0.07 | 0 to 2 |"),
    ],
)
def test_a_value_is_told_with_what_is_usual_and_its_limits(kind, row):
    assert f"\n{row}" in pages.page(kind)


@pytest.mark.parametrize(("name", "models"), [("shop", [Shop]), ("blade", [Blade, GrindNumbers, Place])])
def test_the_tables_of_blade_and_shop_have_every_value(name, models):
    told = [(row[0].rpartition(": ")[2].partition(" (")[0], row[3]) for row in table(pages.page(name))]
    wanted = [info.json_schema_extra for model in models for info in model.model_fields.values()]
    assert all((one["label"], one["reason"]) in told for one in wanted if one)
    assert len(told) == 1 + len([one for one in wanted if one])


# --- finding a page ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("splitt", "split"),
        ("Crush corner", "crush-corners"),
        ("close and weld", "reweld"),
        ("answer", "answers"),
        ("Saw", "cut"),
        ("help/split", "split"),
    ],
)
def test_a_mistyped_name_is_told_what_is_near(name, near):
    with pytest.raises(UsageError, match=rf"no help page .*near it: .*\b{near}\b"):
        pages.page(name)


@pytest.mark.parametrize("name", ["", "../steels.toml", "qqqqqqqq", "\x00", "é" * 500])
def test_a_name_like_none_is_told_all_there_are(name):
    with pytest.raises(UsageError, match=r"use one of: window, .*upset") as caught:
        pages.page(name)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 500


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("split", "split"),
        ("jump up", "upset"),
        ("FIRE weld", "forge-weld"),
        ("press on the bias", "crush-corners"),
        ("draw down", "draw"),
        ("saw kerf", "cut"),
        ("carbon monoxide", "cautions"),
        ("comma", "sizes"),
        ("which way barbs lean", "feather"),
        ("kerf", "shop"),
        ("cold shut", "glossary"),
        ("crop notch", "trim"),
        ("right-handed", "turn"),
    ],
)
def test_words_find_their_page(words, first):
    assert first in [topic.name for topic in pages.find(words)[:3]]


@pytest.mark.parametrize("kind", step_kinds(), ids=lambda kind: kind.kind)
def test_other_names_of_a_step_find_its_page(kind):
    for words in (kind.title, *kind.words):
        assert kind.kind in [topic.name for topic in pages.find(words)]


def test_a_word_in_the_title_comes_before_one_in_the_text():
    found = [topic.name for topic in pages.find("stack")]
    assert set(found[:3]) == {"stack", "stack-tall", "restack"} or set(found[:2]) == {
        "stack",
        "stack-tall",
    }
    assert "split" not in found[:2]


def test_all_words_must_be_there_and_no_word_finds_all():
    assert pages.find("split qqqq") == ()
    assert pages.find("  ") == pages.topics()
    assert set(pages.find("split wedge")) <= set(pages.find("split"))


def test_where_links_lead_is_not_searched():
    assert "reweld" in [topic.name for topic in pages.find("reweld")]
    assert "split" not in [topic.name for topic in pages.find("reweld")]
