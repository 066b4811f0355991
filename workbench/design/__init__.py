"""What the user enters: immutable, validated records in SI, and the catalogues they are chosen from."""

from workbench.design.design import Design
from workbench.design.fan import FanPoint, FanRecord, FanTable
from workbench.design.ground import GroundClass, Resistance, StepReading, StepTest, SuctionPoint
from workbench.design.house import House, Place, Prices
from workbench.design.pipework import Fitting, Junction, Leg, Pipe, Run
from workbench.design.search import Costs, PipePrice, Search
from workbench.design.sound import Listener

__all__ = [
    "Costs",
    "Design",
    "FanPoint",
    "FanRecord",
    "FanTable",
    "Fitting",
    "GroundClass",
    "House",
    "Junction",
    "Leg",
    "Listener",
    "Pipe",
    "PipePrice",
    "Place",
    "Prices",
    "Resistance",
    "Run",
    "Search",
    "StepReading",
    "StepTest",
    "SuctionPoint",
]
