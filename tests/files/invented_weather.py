"""An invented year of weather in EPW form: no station's, smooth enough to know its sums by hand."""

from __future__ import annotations

import math
from calendar import monthrange
from collections.abc import Callable

HEADER = (
    "LOCATION,Invented Hollow,-,Nowhere,Invented for tests,000000,52.50,-3.25,0.0,{altitude}",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,{leap},0,0,0",
    "COMMENTS 1,An invented year; no place has had this weather.",
    "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
)
DRY_BULB, DEW_POINT, HUMIDITY, PRESSURE, WIND = 6, 7, 8, 9, 21


def temperature(hour_of_year: int, hours: int = 8760) -> float:
    """Celsius: 8 in the mean, 11 up and down over the year, coldest in mid-January, and 4 over the day."""
    season = -11.0 * math.cos(2.0 * math.pi * (hour_of_year - 360.0) / hours)
    day = -4.0 * math.cos(2.0 * math.pi * (hour_of_year % 24 - 4.0) / 24.0)
    return 8.0 + season + day


def rows(*, leap: bool = False, celsius: Callable[[int, int], float] = temperature) -> list[list[str]]:
    """Data lines as lists of 35 columns, an hour each."""
    year = 2000 if leap else 2001
    calendar = [
        (month, day, hour)
        for month in range(1, 13)
        for day in range(1, monthrange(year, month)[1] + 1)
        for hour in range(1, 25)
    ]
    made = []
    for index, (month, day, hour) in enumerate(calendar):
        dry = celsius(index, len(calendar))
        row = [str(year), str(month), str(day), str(hour), "60", "?9?9?9?9E0"]
        row += [f"{dry:.2f}", f"{dry - 4.0:.2f}", "75", "99000"]
        row += ["0"] * 10
        row += ["180", f"{3.0 + (index % 5) * 0.5:.1f}"]
        row += ["5", "5", "9.9", "77777", "9", "999999999", "120", "0.08", "0", "88", "0.2", "0", "1"]
        made.append(row)
    return made


def text(data: list[list[str]], *, leap: bool = False, altitude: str = "240.0") -> str:
    """A whole file."""
    head = [line.format(leap="Yes" if leap else "No", altitude=altitude) for line in HEADER]
    return "\r\n".join([*head, *(",".join(row) for row in data)]) + "\r\n"
