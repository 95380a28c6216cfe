"""Places, paths and segments: how anything flows through piping, by gravity or under pressure."""
