"""Whose house it is and who works on it: what stands at the head of every paper."""

from __future__ import annotations

from workbench.design.record import Record, text


class RadonTest(Record):
    """A radon test of the house as its report has it; every part a text, since nothing is calculated from it."""

    date: str = text("Date of the test", default="", help="As it is to be printed.")
    where: str = text("Tested in", default="", help="Room and floor.")
    method: str = text("Method", default="", help="Device, and for how long it stood.")
    result: str = text("Result, with its unit", default="", help="As the report has it.")

    @property
    def entered(self) -> bool:
        """Whether anything of it was."""
        return self != type(self)()


class Job(Record):
    """The head of a job; empty where nothing was entered."""

    client: str = text("Client", default="")
    address: str = text("Address", default="")
    date: str = text("Date", default="", help="As it is to be printed.")
    number: str = text("Job number", default="")
    made_by: str = text("Made by", default="")
    before: RadonTest = RadonTest()
    after: RadonTest = RadonTest()
