-- What the stills' logs say by themselves. Times are UTC on the log's own clock; u_..._min are standard uncertainties
-- [min]. A curve rests on its log, its line of the run sheet, its gauges and the house profile; it is kept in
-- kept_curves, and taken from there as long as its fingerprint says that none of these has changed.
CREATE TABLE IF NOT EXISTS derived.kept_curves (    -- not made anew
    run VARCHAR, fingerprint VARCHAR, curve VARCHAR -- pipeline/derived/curve_records.py as JSON
);

CREATE OR REPLACE TABLE derived.run_curves (        -- one row a still run with a log
    run VARCHAR, equipment VARCHAR, stage VARCHAR, log_started_at TIMESTAMP, points INTEGER, interval_s DOUBLE,
    heat_from_at TIMESTAMP, vapour_at TIMESTAMP, first_drop_at TIMESTAMP, u_first_drop_min DOUBLE,
    hearts_from_sheet_at TIMESTAMP, hearts_from_at TIMESTAMP, u_hearts_from_min DOUBLE,
    hearts_from_by VARCHAR,                         -- what the cut rests on: receivers, change of flow, counter set back
    hearts_to_sheet_at TIMESTAMP, hearts_to_at TIMESTAMP, u_hearts_to_min DOUBLE, hearts_to_by VARCHAR,
    end_at TIMESTAMP, u_end_min DOUBLE,
    heat_up_k_min DOUBLE, hearts_l_h DOUBLE, hearts_alcohol_l_h DOUBLE, hearts_reflux_ratio DOUBLE,
    steam_kg DOUBLE, energy_kwh_per_alcohol_l DOUBLE,   -- heat of the steam, for each LPA that ran off
    vapour_residual_c DOUBLE, u_vapour_residual_c DOUBLE,   -- vapour thermometer less equilibrium, mean of the hearts
    reached_pct_vol DOUBLE, stages_needed DOUBLE, stages_available DOUBLE,   -- ideal stages, the pot included
    likely_wrong VARCHAR,                           -- tag of the sensor whose error explains best what does not fit
    good BOOLEAN,                                   -- may stand in a band: whole, without findings, no unusual loss
    band_runs INTEGER,                              -- good runs that this one is compared with
    band VARCHAR,                                   -- within, left, no band yet
    distance DOUBLE, distance_limit DOUBLE
);

CREATE OR REPLACE TABLE derived.curve_cuts (        -- one row a run and cut (heads, hearts, tails, all)
    run VARCHAR, part VARCHAR, from_at TIMESTAMP, to_at TIMESTAMP,
    volume_l DOUBLE, u_volume_l DOUBLE, alcohol_l DOUBLE, u_alcohol_l DOUBLE,   -- by integrating the log
    bridged DOUBLE,                                 -- part of the volume that runs over gaps of the log
    gauged_volume_l DOUBLE, u_gauged_volume_l DOUBLE, gauged_alcohol_l DOUBLE, u_gauged_alcohol_l DOUBLE,
    difference_l DOUBLE, u_difference_l DOUBLE      -- LPA by the log less LPA gauged
);

CREATE OR REPLACE TABLE derived.curve_findings (
    run VARCHAR, equipment VARCHAR, tag VARCHAR,    -- tag: NULL for the whole row or the clock
    kind VARCHAR, from_at TIMESTAMP, to_at TIMESTAMP, size DOUBLE, detail VARCHAR
);
