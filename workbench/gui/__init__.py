"""The Qt window: widgets, and nothing about physics."""
