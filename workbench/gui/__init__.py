"""The Qt window: widgets, and nothing about physics."""

# what needs no Qt comes before it: once loaded, Qt reads the source of every module that comes after
import workbench.files.project
import workbench.solving.run.prepare  # noqa: F401
