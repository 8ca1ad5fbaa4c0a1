"""The facts of a farm as JSON, and the door that every other address of a farm goes through."""
