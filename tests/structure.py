"""Counts what the rooms know of one another: ``python -m tests.structure``; needs what `dev` installs.

For every package: its modules, the imports between its rooms or modules, and circles, imports for types alone included.
"""

from __future__ import annotations

import grimp

_PACKAGES = ("physics", "design", "solving", "files", "gui")


def circles(arrows: dict[str, set[str]]) -> list[list[str]]:
    """Groups of modules that reach one another, by following arrows there and back."""

    def reached(start: str) -> set[str]:
        found: set[str] = set()
        waiting = [start]
        while waiting:
            for other in arrows.get(waiting.pop(), set()) - found:
                found.add(other)
                waiting.append(other)
        return found

    far = {name: reached(name) for name in arrows}
    groups = {frozenset({a, *(b for b in far[a] if a in far.get(b, set()))}) for a in arrows}
    return sorted(sorted(group) for group in groups if len(group) > 1)


def main() -> int:
    """Print a row for each package, then the circles; 1 where there are any."""
    graph = grimp.build_graph("workbench", exclude_type_checking_imports=False)
    modules = sorted(graph.modules)
    arrows = {name: graph.find_modules_directly_imported_by(name) for name in modules}
    print(f"{'package':9} {'modules':>7} {'rooms':>5} {'between rooms':>13}")
    for package in _PACKAGES:
        inside = f"workbench.{package}."
        own = [name for name in modules if name.startswith(inside)]

        def room(name: str, inside: str = inside) -> str:
            return name[len(inside) :].split(".")[0]

        rooms = {room(name) for name in own if name[len(inside) :].count(".")}
        between = {(room(a), room(b)) for a in own for b in arrows[a] if b.startswith(inside) and room(a) != room(b)}
        print(f"{package:9} {len(own):7} {len(rooms):5} {len(between):13}")
    found = circles(arrows)
    print(f"circles: {len(found)}", *(" <> ".join(group) for group in found), sep="\n  ")
    return 1 if found else 0


if __name__ == "__main__":
    raise SystemExit(main())
