ALTER TABLE decided_photo ADD COLUMN told_before TEXT;

ALTER TABLE clock_correction ADD COLUMN stood_before TEXT;
