"""What a job lacks, one thing at a time, in the order of the work."""

from __future__ import annotations

from workbench.design import Design
from workbench.design.blank import blank_design
from workbench.design.edit import set_every_pipe
from workbench.design.next_step import next_step
from workbench.design.pipework import Pipe
from workbench.design.record import with_value
from workbench.files.project import project_text, read_project
from workbench.files.scenes import load_scene


def lacking(design: Design) -> str:
    step = next_step(design)
    return "" if step is None else step.lacking


def test_a_blank_job_is_led_from_fan_to_exhaust_test() -> None:
    studio, design = load_scene(), blank_design()
    assert lacking(design) == "fan"
    design = design.model_copy(update={"fans": studio.fans, "fan": studio.fan})
    step = next_step(design)
    assert step is not None
    assert (step.lacking, step.address, step.name) == (
        "communication test",
        ("intake", "source", "ground"),
        "Suction point 1",
    )
    ground = next(iter(studio.suction_points()))[1].ground
    design = with_value(design, ("intake", "source", "ground"), ground)
    assert lacking(design) == "test holes"
    bare = tuple(hole.model_copy(update={"readings": (), "position": None}) for hole in studio.holes)
    design = design.model_copy(update={"holes": bare})
    step = next_step(design)
    assert step is not None
    assert (step.lacking, step.address, step.name) == ("readings", ("holes", 0), studio.holes[0].name)
    # the last one without a reading is as missing as the first
    read = (*studio.holes[:-1], bare[-1])
    step = next_step(studio.model_copy(update={"holes": read}))
    assert step is not None
    assert step.address == ("holes", len(read) - 1)
    worst = studio.worst_day.model_copy(update={"exhausts": None, "tested_draw_down": None})
    assert lacking(studio.model_copy(update={"worst_day": worst})) == "exhaust test"
    for known in ("exhausts", "tested_draw_down"):
        assert lacking(studio.model_copy(update={"worst_day": worst.model_copy(update={known: 4.0})})) == ""


def test_one_pipe_goes_into_every_run() -> None:
    pipe = Pipe(name="Another", inside_diameter=0.15, roughness=2e-6)
    for scene in ("studio", "clubhouses", "reading-room"):
        design = load_scene(scene)
        changed = set_every_pipe(design, pipe)
        assert {run.pipe for _, run in changed.runs()} == {pipe}
        assert [run.length for _, run in changed.runs()] == [run.length for _, run in design.runs()]
        assert Design.model_validate(changed.model_dump()) == changed


def test_the_head_of_a_job_is_kept_in_its_file() -> None:
    design = load_scene()
    headed = with_value(design, ("job", "client"), "A. Client {0} <b>")
    assert read_project(project_text(headed)).job.client == "A. Client {0} <b>"
    assert design.job == type(design.job)()
