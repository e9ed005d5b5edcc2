-- The plain sentence of a fault beside its id, as it stood when the fault was named. It follows from the events.
ALTER TABLE summary ADD COLUMN first_sentence TEXT;
ALTER TABLE summary ADD COLUMN last_sentence TEXT;

-- A technician is found whatever the capitals.
DROP INDEX summary_by_technician;
CREATE INDEX summary_by_technician ON summary (technician COLLATE NOCASE, opened_at);
