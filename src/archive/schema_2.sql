-- What a cured job teaches: which faults were named, on which wiring. `drawing` is a checksum of the wiring's text.
-- All of it follows from the events and can be made again from them.
CREATE TABLE named (id INTEGER PRIMARY KEY, faults TEXT NOT NULL UNIQUE);

CREATE TABLE taught (
    job INTEGER PRIMARY KEY REFERENCES job (id),
    wiring TEXT NOT NULL,
    drawing TEXT NOT NULL,
    named INTEGER NOT NULL REFERENCES named (id)
);
CREATE INDEX taught_together ON taught (wiring, drawing, named);

-- What came back is found by going through this index once.
DROP INDEX summary_by_owner;
CREATE INDEX summary_by_owner ON summary (owner, opened_day, closed_day) WHERE owner IS NOT NULL;
