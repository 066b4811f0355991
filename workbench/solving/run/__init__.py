"""A fan on a site: crossings, holes, the speeds that hold, sound, the year, and what to note."""
