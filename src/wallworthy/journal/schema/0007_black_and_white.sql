-- The tone of a picture printed in black and white; null for one in colour.
ALTER TABLE tickets ADD COLUMN black_and_white TEXT;
