"""Prints pip constraints that hold every dependency, and every one of the tests', to the lowest version it claims."""

import pathlib
import re
import tomllib

project = tomllib.loads(pathlib.Path("pyproject.toml").read_text(encoding="utf-8"))["project"]
for line in project["dependencies"] + project["optional-dependencies"]["test"]:
    name, lowest = re.match(r"([\w.-]+)>=([\w.]+)", line).groups()
    print(f"{name}=={lowest}")
