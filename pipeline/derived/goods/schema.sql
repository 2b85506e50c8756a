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

CREATE OR REPLACE TABLE derived.counts (            -- one row a stocktake and lot of bottles, or cask: counted against the book at that moment
    container VARCHAR,                              -- cased goods, cask
    item VARCHAR,                                   -- the batch, the cask
    lot VARCHAR, product VARCHAR,                   -- of a cask: what the book says it holds
    counted_at TIMESTAMP, month DATE,
    pieces DOUBLE, book_pieces DOUBLE, difference DOUBLE,   -- bottles in all places, or 1 for a cask that is there; counted less book
    alcohol_l DOUBLE,                               -- LPA of the difference of bottles; NULL where that of one is not known
    places VARCHAR, counted_by VARCHAR,
    source_id INTEGER, line INTEGER                 -- of the count; NULL for a cask that nobody counted
);
