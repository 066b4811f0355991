"""What the workbench promises of speed and exactness, measured as ratios side by side in one run."""
