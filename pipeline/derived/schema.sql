-- Quantities that need a computation, each with its standard uncertainty (u_...). All of it is made anew from typed.*
-- and the house profile; nothing here is entered. Volumes [L] and alcohol [LPA] are at 20 °C.
CREATE SCHEMA IF NOT EXISTS derived;

CREATE OR REPLACE TABLE derived.gauges (            -- one row a movement: what was moved, in litres of pure alcohol
    gauge             INTEGER,                      -- its number, for derived.gauge_errors
    run               VARCHAR, direction VARCHAR, lot VARCHAR, part VARCHAR, vessel VARCHAR, gauged_at TIMESTAMP,
    stage             VARCHAR, equipment VARCHAR,
    mass_kg           DOUBLE,                       -- as weighed, else from volume and strength
    pieces            DOUBLE,                       -- bottles or packaging, as counted
    volume_l          DOUBLE, u_volume_l DOUBLE,
    strength_reading  DOUBLE, reading_kind VARCHAR, reading_temperature_c DOUBLE,   -- as read
    strength_from     VARCHAR,                      -- what the strength rests on: the kind of reading, or laboratory
    strength_pct_vol  DOUBLE, u_strength_pct_vol DOUBLE,
    strength_is       VARCHAR,                      -- true, estimated (extract known) or apparent: pipeline/derived/true_strength.py
    alcohol_l         DOUBLE, u_alcohol_l DOUBLE,
    not_computed      VARCHAR,                      -- why alcohol_l is NULL, in words; NULL where it is computed or there is none to compute
    source_id         INTEGER, line INTEGER
);

CREATE OR REPLACE TABLE derived.stock_gauges (      -- one row a dip
    gauge INTEGER,                                  -- its number, for derived.gauge_errors
    vessel VARCHAR, lot VARCHAR, gauged_at TIMESTAMP,
    volume_l DOUBLE, u_volume_l DOUBLE, strength_pct_vol DOUBLE, u_strength_pct_vol DOUBLE, strength_is VARCHAR,
    alcohol_l DOUBLE, u_alcohol_l DOUBLE, not_computed VARCHAR, source_id INTEGER, line INTEGER
);

CREATE OR REPLACE TABLE derived.gauge_errors (      -- one row a gauge and error that it carries (gauge_errors.py)
    gauge INTEGER,
    error VARCHAR,                                  -- instrument, vessel, balance, thermometer; reading; the gauge alone
    volume_l DOUBLE, alcohol_l DOUBLE               -- what a standard uncertainty of the error gives to each, signed
);

CREATE OR REPLACE TABLE derived.mass_errors (       -- the same of the mass of what carries no alcohol (mass_errors.py)
    gauge INTEGER, error VARCHAR, mass_kg DOUBLE
);

CREATE OR REPLACE TABLE derived.run_errors (        -- one row a run and error: its gauges' added up
    run VARCHAR, error VARCHAR, alcohol_in_l DOUBLE, alcohol_out_l DOUBLE, hearts_l DOUBLE
);

CREATE OR REPLACE TABLE derived.run_uncertainties ( -- one row a run: standard uncertainties by the errors that its gauges share
    run VARCHAR, u_alcohol_in_l DOUBLE, u_alcohol_out_l DOUBLE, u_hearts_l DOUBLE, u_loss_l DOUBLE,
    u_recovery DOUBLE, u_closure DOUBLE,
    limiting_gauge INTEGER, limiting_share DOUBLE   -- the gauge but for whose errors u_loss_l^2 would be least, and by what part
);

CREATE OR REPLACE TABLE derived.lot_uncertainties ( -- one row a gauged lot, by the errors that its gauges share
    lot VARCHAR, u_alcohol_in_l DOUBLE, u_alcohol_out_l DOUBLE, u_alcohol_remaining_l DOUBLE,
    u_volume_in_l DOUBLE, u_volume_out_l DOUBLE, u_volume_remaining_l DOUBLE,
    u_mass_in_kg DOUBLE, u_mass_out_kg DOUBLE, u_mass_remaining_kg DOUBLE   -- of goods without alcohol
);

CREATE OR REPLACE TABLE derived.extracts (          -- one row a lot in which something is or may be dissolved, or was sought
    lot VARCHAR,
    extract_g_l DOUBLE, u_extract_g_l DOUBLE,       -- as the laboratory measured it; NULL where it did not
    may_hold_from VARCHAR,                          -- botanical, cask, fruit, grain, laboratory, other, sugar, sweetening; NULL: holds none
    since_made BOOLEAN                              -- it held it when it was made; false: only since it lay in oak
);

CREATE OR REPLACE TABLE derived.openings (          -- one row a delivery, and a lot and vessel of the opening inventory
    gauge             INTEGER,                      -- its number, after those of movements and dips
    lot               VARCHAR, origin VARCHAR,      -- received, opening
    kind              VARCHAR, material VARCHAR, vessel VARCHAR, came_at TIMESTAMP,
    carries_alcohol   BOOLEAN,
    mass_kg           DOUBLE, volume_l DOUBLE, u_volume_l DOUBLE, pieces DOUBLE,
    strength_reading  DOUBLE, strength_from VARCHAR,
    strength_pct_vol  DOUBLE, u_strength_pct_vol DOUBLE, strength_is VARCHAR,   -- true, estimated, apparent
    alcohol_l         DOUBLE, u_alcohol_l DOUBLE,   -- 0 where it carries none
    not_computed      VARCHAR,                      -- why alcohol_l is NULL
    extract_pct       DOUBLE, moisture_pct DOUBLE, condition VARCHAR,
    source_id         INTEGER, line INTEGER
);

CREATE OR REPLACE TABLE derived.removals (          -- what left the account otherwise than by a run, or came back to it
    gauge             INTEGER,                      -- its number, after those of the openings
    kind              VARCHAR,                      -- dispatched, returned, sampled, destroyed, lost (a leak)
    lot               VARCHAR, vessel VARCHAR,      -- of a cask: what it held at the time
    removed_at        TIMESTAMP,
    is_bottled        BOOLEAN,                      -- bottles, counted
    pieces            DOUBLE, volume_l DOUBLE, strength_pct_vol DOUBLE, u_strength_pct_vol DOUBLE,
    alcohol_l         DOUBLE, u_alcohol_l DOUBLE,   -- not signed
    not_computed      VARCHAR,
    to_whom           VARCHAR, duty_status VARCHAR, document VARCHAR, reason VARCHAR, person VARCHAR, witness VARCHAR,
    dispatch_document VARCHAR,                      -- of a return: that by which it had left
    source_id         INTEGER, line INTEGER
);

-- What came into each lot (1) and what went out of it (-1): movements, what it began with, and what left otherwise than by a
-- run; of bottles the goods ledger tells.
-- made from: derived.gauges, derived.openings, derived.removals
CREATE OR REPLACE VIEW derived.lot_flows AS
SELECT lot, gauged_at AS moved_at, gauge, alcohol_l, CASE direction WHEN 'out' THEN 1 ELSE -1 END AS sign FROM derived.gauges
UNION ALL SELECT lot, came_at, gauge, alcohol_l, 1 FROM derived.openings
UNION ALL SELECT lot, removed_at, gauge, alcohol_l, CASE kind WHEN 'returned' THEN 1 ELSE -1 END FROM derived.removals WHERE NOT is_bottled;

CREATE OR REPLACE TABLE derived.run_balances (      -- one row a run that handles alcohol (strip to bottle)
    run VARCHAR, stage VARCHAR, equipment VARCHAR, product VARCHAR, started_at TIMESTAMP, ended_at TIMESTAMP,
    alcohol_in_l DOUBLE, u_alcohol_in_l DOUBLE,     -- NULL where a charge could not be computed; so is each part below
    alcohol_out_l DOUBLE, u_alcohol_out_l DOUBLE,   -- all parts out; with one missing, those that were gauged
    heads_l DOUBLE, hearts_l DOUBLE, u_hearts_l DOUBLE, tails_l DOUBLE, spent_l DOUBLE,     -- LPA by part; foreshots count
                                                    -- as heads, feints as tails, spirit, liquid and bottles as hearts
    loss_l DOUBLE, u_loss_l DOUBLE,                 -- in less out; NULL with any gauge missing, and so is closure
    recovery DOUBLE, u_recovery DOUBLE,             -- hearts / in (a fraction)
    closure DOUBLE, u_closure DOUBLE,               -- out / in (a fraction)
    volume_in_l DOUBLE, volume_out_l DOUBLE,
    hearts_strength_pct_vol DOUBLE,                 -- of all that counts as hearts, bottles too
    parts_not_computed INTEGER,                     -- movements of this run whose alcohol could not be computed
    missing_gauges VARCHAR                          -- these, as "spent SPENT-1", joined with ", "; NULL where there is none
);

CREATE OR REPLACE TABLE derived.contents (          -- one row a lot of grain, fruit or sugar: what its certificate says of it
    lot VARCHAR, material VARCHAR, kind VARCHAR,
    basis VARCHAR,                                  -- extract, total sugars, sugars, juice, must, solids; NULL: not known
    dry_pct DOUBLE, moisture_pct DOUBLE,            -- [% mass as received]
    density_kg_l DOUBLE,                            -- of a juice at 20 °C, by its Brix
    extract_kg_per_kg DOUBLE,                       -- what it can give to the extract of a wort
    fermentable_kg_per_kg DOUBLE,                   -- of a kilogram as received: sugar, starch; extract or solids, all of them
    possible_l_per_kg DOUBLE, predicted_l_per_kg DOUBLE,    -- LPA of that by theory, and by practice if all ferments
    fermentability DOUBLE, sugar_of_solids DOUBLE,  -- fractions: of the lot's extract, by its certificate; sugars as sucrose
    not_known VARCHAR,                              -- no certificate, extract without moisture, more sugar than solids
    source_id INTEGER, line INTEGER
);

CREATE OR REPLACE TABLE derived.mash_bill (         -- one row a mash, or ferment fed directly, and lot of grain, fruit or sugar
    run VARCHAR, stage VARCHAR, lot VARCHAR, material VARCHAR, kind VARCHAR, part VARCHAR,
    basis VARCHAR,                                  -- as derived.contents
    mass_kg DOUBLE, dry_kg DOUBLE, extract_kg DOUBLE,   -- as received; dry matter; what it can give to the extract of the wort
    fermentability DOUBLE, fermentable_kg DOUBLE,   -- share that ferments; sugar or starch, of extract the part that ferments
    possible_alcohol_l DOUBLE, predicted_alcohol_l DOUBLE,  -- LPA by theory, and as certificate and fermentability promise
    share DOUBLE, dry_share DOUBLE, fermentable_share DOUBLE, predicted_share DOUBLE,   -- of the run's bill
    not_known VARCHAR,                              -- why nothing is predicted: as derived.contents, no mass, no fermentability
    source_id INTEGER, line INTEGER                 -- where the first of it was charged
);

CREATE OR REPLACE TABLE derived.ferment_yields (    -- one row a ferment run
    run VARCHAR, mash_run VARCHAR, wash_lot VARCHAR, equipment VARCHAR, started_at TIMESTAMP, ended_at TIMESTAMP,
    grain_kg DOUBLE, extract_kg DOUBLE, fermentable_kg DOUBLE,  -- grain, fruit and sugar fed; by their certificates extract, and what ferments
    original_gravity DOUBLE, final_gravity DOUBLE,  -- SG 20/20
    apparent_attenuation DOUBLE, real_attenuation DOUBLE,   -- fractions
    wash_volume_l DOUBLE, wash_strength_pct_vol DOUBLE,
    alcohol_l DOUBLE, u_alcohol_l DOUBLE,
    possible_alcohol_l DOUBLE, predicted_alcohol_l DOUBLE,  -- by theory, and from extract or sugar and what of it ferments
    yield_l_per_t DOUBLE, u_yield_l_per_t DOUBLE,   -- LPA per tonne of grain, fruit or sugar as received
    predicted_yield_l_per_t DOUBLE,
    yield_ratio DOUBLE, yield_of_possible DOUBLE,   -- yield / predicted, alcohol / possible
    fermentation_efficiency DOUBLE,                 -- alcohol formed / theoretical (Gay-Lussac) from extract fermented
    malt_lots VARCHAR[]                             -- lots of grain, fruit or sugar
);

CREATE OR REPLACE TABLE derived.lots (              -- one row a lot that was ever received, produced or drawn from
    lot VARCHAR,
    origin VARCHAR,                                 -- produced, received, opening (of the opening inventory), unknown
    origins INTEGER,                                -- of how many kinds; more than one is a lot number used twice
    material VARCHAR,                               -- of the delivery or inventory, else the part it was produced as
    made_by_run VARCHAR, made_at TIMESTAMP,
    basis VARCHAR,                                  -- what its quantity is counted in: LPA, kg, L, pieces
    quantity_in DOUBLE, u_quantity_in DOUBLE,       -- NULL where any part of what came in is not known
    quantity_out DOUBLE, u_quantity_out DOUBLE,     -- the draws that were gauged
    draws_not_gauged INTEGER,                       -- draws whose quantity is not known, and so not in quantity_out
    remaining DOUBLE, u_remaining DOUBLE,           -- in less out, NULL where one of the two is not known; negative where more
                                                    -- was drawn than the lot held
    overdraw DOUBLE,                                -- drawn beyond what it held, less twice the uncertainty; 0 where none, NULL where
                                                    -- it is not known what the lot held
    drawn_by_runs INTEGER,
    not_computed VARCHAR                            -- why quantity_in is NULL
);

CREATE OR REPLACE TABLE derived.lot_origins (       -- one row a lot of which it is known where its alcohol is from
    lot VARCHAR, own_share DOUBLE, bought_share DOUBLE, opening_share DOUBLE,   -- fermented here, bought in, there at the beginning
    material_kg_per_l DOUBLE                        -- grain, fruit and sugar fed for a litre of it, losses included [kg/LPA]
);

CREATE OR REPLACE TABLE derived.lineage (           -- every run and lot behind a bottled lot
    batch VARCHAR, run VARCHAR, stage VARCHAR,
    lot VARCHAR,                                    -- a lot that went into the run
    into_lot VARCHAR,                               -- the lot of this batch's ancestry that the run made
    depth INTEGER,                                  -- 1: what the bottle run drew; greater is further back (shortest way)
    share DOUBLE,                                   -- share of the batch's alcohol that passed through this lot, 0..1; NULL where the lot carries none
    quantity DOUBLE, basis VARCHAR,                 -- of this lot drawn by this run in all (LPA, kg, L, pieces)
    consumed DOUBLE                                 -- the part of that which stands behind this batch, losses on the way included
);

CREATE OR REPLACE TABLE derived.log_summaries (     -- one row a still run and tag that was logged
    run VARCHAR, equipment VARCHAR, tag VARCHAR, points INTEGER,
    first_at TIMESTAMP, last_at TIMESTAMP,
    least DOUBLE, greatest DOUBLE, mean DOUBLE,
    longest_gap_min DOUBLE,
    longest_stuck_min DOUBLE,                       -- longest time with exactly one value while the still was in its hearts
    expected_points INTEGER                         -- from the run sheet's start and end at the log's own interval
);

CREATE OR REPLACE TABLE derived.log_clocks (        -- one row a still run: does the log's clock agree with the sheet's
    run VARCHAR, equipment VARCHAR, started_at TIMESTAMP, log_started_at TIMESTAMP,
    offset_min DOUBLE                               -- by how much both ends of the log lie off the run on the sheet
);

CREATE OR REPLACE TABLE derived.laboratory (        -- one row a lot and analyte: the accepted value
    lot VARCHAR, analyte VARCHAR, value DOUBLE, unit VARCHAR, u_value DOUBLE,
    scatter DOUBLE,                                 -- part of u_value that is of the single results, not the instrument's (a fraction)
    preparation VARCHAR,                            -- of a strength: distilled, direct; NULL where it was not said of all
    below_limit BOOLEAN, replicates INTEGER, spread DOUBLE,  -- greatest less least of the replicates
    per_alcohol_g_hl DOUBLE,                        -- congeners only: g per hL of pure alcohol
    samples VARCHAR, methods VARCHAR, instrument VARCHAR, measured_at TIMESTAMP, source_id INTEGER, line INTEGER
);

CREATE OR REPLACE TABLE derived.recipe_bill (       -- one row a run with a recipe and ingredient of its recipe or charge
    run VARCHAR, stage VARCHAR, recipe VARCHAR,
    material VARCHAR, in_recipe VARCHAR,            -- as the recipe lists it; in_recipe: NULL where it does not
    lots VARCHAR[], is_charged BOOLEAN,
    charged_kg DOUBLE, charged_alcohol_l DOUBLE,    -- as weighed; NULL where a part was not
    alcohol_l DOUBLE,                               -- charged in all
    measure VARCHAR,                                -- g/LPA (charged), g/L (made), share (of the mass added, of a blend's alcohol)
    charged_quantity DOUBLE, recipe_quantity DOUBLE, ratio DOUBLE,   -- in that measure; charged / recipe
    condition VARCHAR, recipe_condition VARCHAR
);

CREATE OR REPLACE TABLE derived.botanical_bill (    -- one row a botanical or steep run and botanical of its recipe or charge
    run VARCHAR, stage VARCHAR, recipe VARCHAR, botanical VARCHAR, lots VARCHAR[],
    charged_kg DOUBLE, alcohol_l DOUBLE,
    charged_g_per_lpa DOUBLE, recipe_g_per_lpa DOUBLE,
    ratio DOUBLE,                                   -- charged / recipe; NULL where one of the two is missing
    condition VARCHAR, recipe_condition VARCHAR
);

CREATE OR REPLACE TABLE derived.bottlings (         -- one row a batch
    batch VARCHAR, run VARCHAR, product VARCHAR,
    jurisdiction VARCHAR,                           -- whose law the product meets; NULL where the profile lacks the product
    bottled_at TIMESTAMP,
    nominal_ml DOUBLE, label_strength_pct_vol DOUBLE,   -- the number on the label, at the temperature below
    bottles_filled INTEGER, bottles_rejected INTEGER,
    stated_at_c DOUBLE,                             -- temperature at which that law states strength and contents
    laboratory_strength_pct_vol DOUBLE, u_laboratory_strength_pct_vol DOUBLE,   -- at 20 °C
    stated_strength_pct_vol DOUBLE,                 -- the laboratory's strength at the temperature of the label
    label_deviation_pct_vol DOUBLE,                 -- that less the label's
    laboratory_strength_is VARCHAR, extract_g_l DOUBLE,   -- true or apparent; extract of the liquid where it was measured
    alcohol_in_l DOUBLE, u_alcohol_in_l DOUBLE, alcohol_bottled_l DOUBLE, u_alcohol_bottled_l DOUBLE, bottling_loss DOUBLE,  -- a fraction
    u_bottling_loss DOUBLE,
    fill_factor DOUBLE,                             -- net content at the temperature of the label over that at 20 °C
    fills INTEGER, fill_mean_ml DOUBLE, fill_sd_ml DOUBLE, fill_least_ml DOUBLE, fill_most_ml DOUBLE,   -- at the label's
    fills_over INTEGER, fills_under INTEGER,        -- sampled bottles with more, and with less, than the nominal volume
    fills_asked INTEGER, fills_asked_for_mean INTEGER,  -- by the plan of the reference test; this and what follows: EU only
    tolerable_negative_error_ml DOUBLE, fills_below_tne INTEGER, fills_below_2tne INTEGER,
    accepted_below_tne INTEGER, rejected_below_tne INTEGER, -- so many or fewer accept the batch, so many or more refuse it
    fill_mean_deficit_ml DOUBLE                     -- nominal less mean less what sampling alone explains; > 0 fails the mean test
);

CREATE OR REPLACE TABLE derived.batch_bill (        -- one row a batch and lot that its alcohol is from
    batch VARCHAR, lot VARCHAR, material VARCHAR, kind VARCHAR, origin VARCHAR,     -- fermented (here), bought (in), opening (there when the book was begun)
    basis VARCHAR, not_known VARCHAR,               -- of what was fermented, as derived.mash_bill
    mass_kg DOUBLE, share DOUBLE,                   -- of it what stands behind the batch, and of the mass of all fermented for it
    predicted_alcohol_l DOUBLE, predicted_share DOUBLE,
    alcohol_share DOUBLE, strength_pct_vol DOUBLE   -- of spirit and wash: share of the batch's alcohol; as it came
);

CREATE OR REPLACE TABLE derived.batch_yields (      -- one row a batch: grain, fruit or sugar to bottle
    batch VARCHAR, grain_kg DOUBLE, predicted_alcohol_l DOUBLE,   -- the batch's share of the material behind it
    alcohol_bottled_l DOUBLE, own_share DOUBLE, bought_share DOUBLE, opening_share DOUBLE,  -- of its alcohol, as derived.lot_origins
    own_alcohol_l DOUBLE,                           -- bottled, of what was fermented here: yields are of this alone
    yield_l_per_t DOUBLE, grain_to_bottle DOUBLE, days_grain_to_bottle DOUBLE
);

CREATE OR REPLACE TABLE derived.monthly (           -- ratios of sums; a run belongs to the month in which it ended
    month DATE, measure VARCHAR,                    -- yield_l_per_t, yield_against_prediction, strip_recovery, rectify_recovery, ...
    equipment VARCHAR,                              -- NULL: all together
    numerator DOUBLE, denominator DOUBLE, ratio DOUBLE, u_ratio DOUBLE, runs INTEGER, runs_left_out INTEGER
);

CREATE OR REPLACE TABLE derived.used_up_lots (      -- one row a lot of spirit of which nothing is left
    lot VARCHAR, vessel VARCHAR, emptied_at TIMESTAMP, evidence VARCHAR,
    left_l DOUBLE                                   -- LPA that the gauges leave over: heel, loss and gauging together
);

CREATE OR REPLACE TABLE derived.usual_losses (      -- what runs of a stage and lots of a kind usually lose in this house
    of_what VARCHAR, kind VARCHAR,                  -- run and its stage, or lot and what it is
    number INTEGER,
    fraction DOUBLE, scatter DOUBLE                 -- of the alcohol in; median, and standard deviation from run to run
);

CREATE OR REPLACE TABLE derived.run_verdicts (      -- one row a run that handles alcohol: does it balance
    run VARCHAR, stage VARCHAR, equipment VARCHAR, product VARCHAR, started_at TIMESTAMP, ended_at TIMESTAMP,
    alcohol_in_l DOUBLE, alcohol_out_l DOUBLE, loss_l DOUBLE, u_loss_l DOUBLE,
    usual_loss_l DOUBLE, u_usual_loss_l DOUBLE,     -- of a run of this stage with this charge; NULL below eight runs
    feints_in_l DOUBLE, feints_out_l DOUBLE,        -- LPA in heads and tails of earlier runs, and in those that a later run drew
    net_recovery DOUBLE,                            -- hearts over what stayed with this run: in less feints handed on
    volume_in_l DOUBLE, volume_out_l DOUBLE,        -- volumes shrink on mixing and are no balance; masses are one
    mass_in_kg DOUBLE, mass_out_kg DOUBLE,          -- NULL where a part was neither weighed nor can be reckoned
    verdict VARCHAR,                                -- closes, loses (a real loss), gains (a measurement is wrong), cannot tell
    limited_by_lot VARCHAR, limited_by_direction VARCHAR,   -- the gauge with the greatest uncertainty
    limiting_u_l DOUBLE, limiting_share DOUBLE,     -- its uncertainty, and its part of the variance of the loss
    not_computed VARCHAR                            -- why there is no balance
);

CREATE OR REPLACE TABLE derived.loss_signals (      -- when losses beyond the usual became significant on one equipment
    stage VARCHAR, equipment VARCHAR,
    first_run VARCHAR, first_at TIMESTAMP,          -- the first run of the rise
    signal_run VARCHAR, signal_at TIMESTAMP, week VARCHAR,   -- the run and ISO week in which it became significant
    last_run VARCHAR, last_at TIMESTAMP, runs INTEGER,
    excess_l DOUBLE, u_excess_l DOUBLE              -- lost beyond the usual from the first run to the last
);

CREATE OR REPLACE TABLE derived.networks (          -- runs and lots that gauges connect, reconciled together
    network INTEGER, streams INTEGER, degrees INTEGER,
    chi_square DOUBLE, critical DOUBLE,             -- global test, at 5 %
    chi_square_after DOUBLE, set_aside INTEGER,     -- with what was found wrong set aside
    z_critical DOUBLE                               -- of the measurement test (Sidak), at 5 % over the network
);

CREATE OR REPLACE TABLE derived.reconciled (        -- one row a stream: reconciled beside measured, never instead of it
    stream INTEGER, kind VARCHAR,                   -- gauge, dip, loss (usual for its kind), left (of a used-up lot)
    run VARCHAR, direction VARCHAR, lot VARCHAR, part VARCHAR, gauged_at TIMESTAMP,
    measured_l DOUBLE, u_measured_l DOUBLE,         -- LPA; NULL where it was not measured
    reconciled_l DOUBLE, u_reconciled_l DOUBLE,     -- NULL where it cannot be worked out
    z DOUBLE, redundancy DOUBLE,                    -- measurement test; share of its variance that other gauges see
    detectable_l DOUBLE,                            -- error that would be found with 80 % power
    verdict VARCHAR,                                -- agrees, suspect, cannot be checked, worked out, cannot be known
    alike INTEGER,                                  -- streams of one number cannot be told apart; NULL where it stands alone
    network INTEGER, source_id INTEGER, line INTEGER
);

CREATE OR REPLACE TABLE derived.steps (             -- the genealogy as a graph: a lot went by a run into a lot
    lot VARCHAR, run VARCHAR, stage VARCHAR, into_lot VARCHAR,
    share DOUBLE,                                   -- of the alcohol of into_lot that came through it; NULL: carries none
    quantity DOUBLE, basis VARCHAR,                 -- drawn of the lot by the run
    per_unit DOUBLE,                                -- drawn for each LPA (before alcohol: litre) of into_lot
    lot_rank INTEGER, into_rank INTEGER             -- a lot's rank is above those of all that it was made from; NULL in a ring
);

CREATE OR REPLACE TABLE derived.account_entries (   -- the ledger of alcohol, one row an entry, booked to 0.01 LPA
    booked_at TIMESTAMP, month DATE,                     -- UTC; month by the house's calendar
    gauge INTEGER,                                  -- the movement that it books; NULL for deliveries and losses
    place VARCHAR, is_vessel BOOLEAN,               -- a vessel, or the equipment on which a run is at work
    entry VARCHAR,                                  -- inventory (opening), received, produced, returned (from bottles), used,
                                                    -- transferred, bottled, explained, unexplained
    alcohol_l DECIMAL(18, 2), u_alcohol_l DOUBLE,   -- signed: what comes into the place is positive
    lot VARCHAR, run VARCHAR, note VARCHAR
);

CREATE OR REPLACE VIEW derived.entry_errors AS      -- what each error gives to each entry of the account, signed as the entry
    SELECT a.booked_at, a.month, a.place, a.is_vessel, a.lot, e.error, sign(a.alcohol_l)::DOUBLE * e.alcohol_l AS alcohol_l
    FROM derived.account_entries AS a JOIN derived.gauge_errors AS e USING (gauge)
    UNION ALL                                       -- what has no gauge is its own
    SELECT booked_at, month, place, is_vessel, lot, concat_ws(' ', entry, lot, run, strftime(booked_at, '%Y%m%d%H%M%S')), u_alcohol_l
    FROM derived.account_entries WHERE gauge IS NULL;

CREATE OR REPLACE TABLE derived.strength_checks (   -- one row a reading of a lot's strength, checked by the others of that lot
    kind VARCHAR, lot VARCHAR, run VARCHAR, direction VARCHAR, gauged_at TIMESTAMP,   -- kind: gauge, dip, laboratory, opening
    strength_pct_vol DOUBLE, u_strength_pct_vol DOUBLE,
    mean_strength_pct_vol DOUBLE, u_mean_strength_pct_vol DOUBLE,   -- of all readings of the lot, weighted
    readings INTEGER, z DOUBLE,                     -- how many there are; measurement test
    verdict VARCHAR,                                -- agrees, suspect, one of two is wrong, cannot be checked
    source_id INTEGER, line INTEGER
);

-- What the stills' logs say by themselves. Times are UTC on the log's own clock; u_..._min are standard uncertainties
-- [min]. A curve rests on its log, its line of the run sheet, its gauges and the house profile; it is kept in
-- kept_curves, and taken from there as long as its fingerprint says that none of these has changed.
CREATE TABLE IF NOT EXISTS derived.kept_curves (    -- the one table here that is not made anew
    run VARCHAR, fingerprint VARCHAR, curve VARCHAR -- pipeline/derived/curves/records.py as JSON
);

CREATE OR REPLACE TABLE derived.run_curves (        -- one row a still run with a log
    run VARCHAR, equipment VARCHAR, stage VARCHAR, log_started_at TIMESTAMP, points INTEGER, interval_s DOUBLE,
    heat_from_at TIMESTAMP, vapour_at TIMESTAMP, first_drop_at TIMESTAMP, u_first_drop_min DOUBLE,
    hearts_from_sheet_at TIMESTAMP, hearts_from_at TIMESTAMP, u_hearts_from_min DOUBLE,
    hearts_from_by VARCHAR,                         -- what it rests on: receivers, counter set back, change of flow, strength or temperature, end of the run
    hearts_to_sheet_at TIMESTAMP, hearts_to_at TIMESTAMP, u_hearts_to_min DOUBLE, hearts_to_by VARCHAR,
    end_at TIMESTAMP, u_end_min DOUBLE,
    heat_up_k_min DOUBLE, hearts_l_h DOUBLE, hearts_alcohol_l_h DOUBLE, hearts_reflux_ratio DOUBLE,
    steam_kg DOUBLE, heating_kwh DOUBLE, energy_kwh_per_alcohol_l DOUBLE,   -- of both, for each LPA that ran off
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
    strength_bridged DOUBLE,                        -- part of the volume whose strength was not measured
    gauged_volume_l DOUBLE, u_gauged_volume_l DOUBLE, gauged_alcohol_l DOUBLE, u_gauged_alcohol_l DOUBLE,
    difference_l DOUBLE, u_difference_l DOUBLE      -- LPA by the log less LPA gauged
);

CREATE OR REPLACE TABLE derived.curve_findings (
    run VARCHAR, equipment VARCHAR, tag VARCHAR,    -- tag: NULL for the whole row or the clock
    kind VARCHAR, from_at TIMESTAMP, to_at TIMESTAMP, size DOUBLE, detail VARCHAR
);

-- What stands behind a batch: the one ancestry of flags, evidence, dossier, board and traces. What else a run made of the
-- same charge (its tails beside its hearts) is no ancestor; the run is.
CREATE OR REPLACE VIEW derived.ancestor_runs AS
    SELECT batch, run FROM derived.lineage UNION SELECT batch, run FROM derived.bottlings WHERE run IS NOT NULL;
CREATE OR REPLACE VIEW derived.ancestor_lots AS
    SELECT batch, lot FROM derived.lineage UNION SELECT batch, into_lot FROM derived.lineage
    UNION SELECT batch, batch FROM derived.bottlings;
