"""The invented scenario: a rendered picture, a virtual printer, scanner and eye."""
