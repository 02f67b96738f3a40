-- Bare paper round the picture, a width for each side; until now all four had one.
ALTER TABLE tickets RENAME COLUMN border_mm TO margin_top_mm;
ALTER TABLE tickets ADD COLUMN margin_right_mm REAL NOT NULL DEFAULT 0;
ALTER TABLE tickets ADD COLUMN margin_bottom_mm REAL NOT NULL DEFAULT 0;
ALTER TABLE tickets ADD COLUMN margin_left_mm REAL NOT NULL DEFAULT 0;
UPDATE tickets SET margin_right_mm = margin_top_mm, margin_bottom_mm = margin_top_mm, margin_left_mm = margin_top_mm;
