"""The layer under a slab: how suction spreads from pits through fill, past footings, to where air comes in.

`parts` is what a floor consists of, `grid` cuts it into cells; `edges`, `footing` and `stencil` say how cells meet
sides, walls and pits; `system` balances them and `field` answers on a fine grid. `network` and `mesh` are the same
floor on coarse cells and as a few conductances, for thousands of possible floors.
"""
