"""What every page stands in: the document, files, recovery, settings, notices and the speed rail."""
