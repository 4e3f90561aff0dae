"""Numbers in reasons: as exact as a smith can measure, one form for each unit."""

import importlib

import pytest

from patternsim.job import parse, starting_job, starting_jobs
from patternsim.kinds import step_kinds
from patternsim.pages import page, topics
from patternsim.pictures import picture
from patternsim.step import REGISTRY, card_text
from patternsim.wording import percent, told_mm, told_sizes
from patternsim.work import run, work_out


@pytest.mark.parametrize(
    ("mm", "words"),
    [(51.0, "51 mm"), (864.0, "864 mm"), (12.345, "12.3 mm"), (0.246, "0.25 mm"), (0.999, "1 mm"),
     (0.0, "0 mm"), (-0.6, "-0.6 mm")],
)  # fmt: skip
def test_a_length_in_a_reason_is_rounded_as_it_is_measured(mm, words):
    assert told_mm(mm) == words


def test_sizes_and_shares():
    assert told_sizes((864.0, 53.12, 2.5)) == "864 x 53.1 x 2.5 mm"
    assert (percent(1.0), percent(0.0345, 1)) == ("100 %", "3.5 %")


def test_degrees_have_one_sign_in_all_the_steps_say():
    for name, _ in starting_jobs():
        for bar in parse(starting_job(name)).bar:
            for step in bar.step:
                assert " deg" not in step.sentence() + card_text(step)
    bend = REGISTRY["bend"](id="b", start_mm=10.0, radius_mm=80.0, angle_deg=30.0)
    assert card_text(bend).startswith("Bend 30°, ")
    assert bend.sentence().startswith("Bend 30° on")


def test_a_refusal_is_rounded_and_says_what_helps():
    text = starting_job("feather-from-w").replace("pieces = 6", "pieces = 60")
    reason = work_out(parse(text), "quick").refused.reason
    assert reason.startswith("the mark lies beside the piece, which is 864 x 51.4 x 2.2 mm")
    assert reason.endswith("give a place on it")


def test_what_fields_say_of_themselves_is_in_a_smiths_words():
    for kind in step_kinds():
        for field in REGISTRY[kind.kind].model_fields.values():
            said = field.json_schema_extra or {}
            for word in ("-y", "+y", "closed form", "finite"):
                assert word not in f"{said.get('label', '')} {said.get('reason', '')}"


def test_help_speaks_of_no_finite_elements():
    for topic in topics():
        text = page(topic.name).lower()
        assert "finite" not in text
        assert "closed form" not in text
        assert "drawn roughly" not in text


def test_the_foot_of_a_picture_is_in_plain_words(monkeypatch):
    drawing = importlib.import_module("patternsim.pictures.picture")
    told = []
    plain = drawing.lettered
    monkeypatch.setattr(drawing, "lettered", lambda *a, **k: told.append(k) or plain(*a, **k))
    job = parse(starting_job("w-bar"))
    picture(run(job, "quick"), "section", dpi=60.0)
    picture(run(job, "quick"), "section", dpi=60.0, after="corners")
    said = " ".join(told[0]["notes"])
    number = [step.id for step in job.bar[0].step].index("corners") + 1
    assert said.startswith(f"An estimate. A sketch only: step {number}.")
    # Steps by the numbers of the card: ids are for the command line.
    assert told[1]["below_title"].startswith(f"After step {number}, crush corners: section across")
    assert "level" not in said
    assert "closed form" not in said
