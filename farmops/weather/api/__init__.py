"""The weather of a farm as JSON, as it came in; files are imported by a command."""
