"""Code profiles as data: triggers, limits and required contents, with citations."""
