"""Whose house it is and who works on it: what stands at the head of every paper."""

from __future__ import annotations

from workbench.design.record import Record, text


class Job(Record):
    """The head of a job; empty where nothing was entered."""

    client: str = text("Client", default="")
    address: str = text("Address", default="")
    date: str = text("Date", default="", help="As it is to be printed.")
    number: str = text("Job number", default="")
    made_by: str = text("Made by", default="")
