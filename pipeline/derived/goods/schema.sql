-- Finished goods: what became of every bottle after it was filled, by batch.
CREATE SCHEMA IF NOT EXISTS derived;

CREATE OR REPLACE TABLE derived.goods_entries (     -- the ledger of finished goods, one row an entry, booked to 0.01 LPA
    booked_at TIMESTAMP, month DATE,                -- UTC; month by the house's calendar
    batch VARCHAR, product VARCHAR,
    entry VARCHAR,                                  -- opening, bottled, used (drawn back by a run), dispatched, returned, sampled, destroyed
    pieces DOUBLE,                                  -- signed: what comes into the store is positive; NULL where nobody counted
    alcohol_l DECIMAL(18, 2),                       -- signed; NULL where the alcohol of a bottle is not known
    duty_status VARCHAR, document VARCHAR, customer VARCHAR, note VARCHAR,
    source_id INTEGER, line INTEGER
);

CREATE OR REPLACE TABLE derived.goods_counts (      -- one row a stocktake and lot: bottles counted against the book at that moment
    batch VARCHAR, product VARCHAR, counted_at TIMESTAMP, month DATE,
    pieces DOUBLE, book_pieces DOUBLE, difference DOUBLE,   -- counted in all places; by the book; counted less book
    alcohol_l DOUBLE,                               -- LPA of the difference; NULL where that of a bottle is not known
    places VARCHAR, counted_by VARCHAR, source_id INTEGER, line INTEGER
);
