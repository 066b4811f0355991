"""Project files, fan tables and scenes: designs on their way in and out."""
