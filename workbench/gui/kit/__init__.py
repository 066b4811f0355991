"""Widgets that know no design: themes, fields, forms, plots, and waiting."""
