-- The size that was asked for, [width, height, whether by name] as JSON: the picture lies inside it or fills it, and
-- is placed in it anew when another part of it is to be printed. Null in tickets of before.
ALTER TABLE tickets ADD COLUMN size_asked TEXT;
