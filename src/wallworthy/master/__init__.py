"""From a file to a master: checked, described, and read as strips in the working encoding."""
