"""Translation and formats, for every page and paper."""
