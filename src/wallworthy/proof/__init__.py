"""The soft proof: lights, displays, the picture for the screen, and what is lost, in words."""
