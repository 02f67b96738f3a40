-- The set a print hangs in: its tickets and its tones; null for a print by itself.
ALTER TABLE tickets ADD COLUMN hangs_with TEXT;
