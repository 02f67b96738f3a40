"""The only composer of rooms: its functions read as the picture travels."""
