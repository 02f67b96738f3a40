"""Units, errors, whole files and the frozen records that rooms hand to each other."""
