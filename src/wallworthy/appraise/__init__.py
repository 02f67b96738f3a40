"""What a file can stand: detail, noise, tones, blemishes, each with where and how visible."""
