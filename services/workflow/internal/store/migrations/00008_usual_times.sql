-- +goose Up

-- What is usual for a kind of stage is told anew, in minutes to set up and for each m². What was learned here is
-- the logarithm of how many times the usual a stage took; so that it forecasts the same times as before, it is
-- counted in the new usual. A copy of the service before, while it still runs, counts in the old one: what it
-- learns meanwhile is too low by the ratio of both until its stage is corrected.
WITH usual (kind, set_up, per_m2, new_set_up, new_per_m2) AS (VALUES
    ('lead_test', 10, 0, 5, 0),
    ('clean_and_degrease', 5, 12, 4, 6),
    ('strip', 10, 35, 10, 22),
    ('neutralise_or_wash_off', 5, 10, 4, 6),
    ('sand', 3, 14, 3, 5),
    ('raise_grain', 3, 4, 2, 3),
    ('dust_off', 2, 3, 1, 1.5),
    ('prime', 8, 10, 5, 7),
    ('block_stains', 8, 10, 5, 6),
    ('tie_coat', 8, 8, 5, 5),
    ('paint_coat', 8, 12, 5, 8),
    ('stain_coat', 8, 15, 5, 9),
    ('glaze_coat', 10, 20, 6, 12),
    ('toner_coat', 10, 8, 8, 5),
    ('oil_coat', 6, 15, 5, 9),
    ('topcoat_coat', 8, 11, 5, 7),
    ('rub_out_or_wax', 6, 20, 5, 12),
    ('scuff_sand', 3, 8, 2, 4),
    ('hardware_off', 15, 0, 10, 0),
    ('hardware_on', 20, 0, 15, 0),
    ('inspect', 10, 0, 5, 0),
    ('seal_coat', 8, 8, 5, 5),
    ('spot_seal', 5, 4, 4, 3),
    ('ebonise', 10, 12, 8, 9),
    ('open_pores', 3, 16, 3, 10),
    ('liming_coat', 6, 14, 5, 9),
    ('wipe_off', 4, 12, 3, 8),
    ('mask', 10, 12, 8, 10),
    ('unmask', 3, 4, 2, 3),
    ('scrape', 5, 30, 5, 22),
    ('glue_and_clamp', 25, 5, 20, 5),
    ('veneer_repair', 40, 5, 30, 5),
    ('fill', 10, 8, 8, 6),
    ('wipe_with_solvent', 3, 4, 2, 3)
), told AS (
    UPDATE labour_observation o
    SET y = o.y + ln(round(u.set_up + u.per_m2 * s.area_m2) / round(u.new_set_up + u.new_per_m2 * s.area_m2))
    FROM usual u, stage s
    WHERE u.kind = o.kind AND s.id = o.stage_id AND o.person_id IS NOT NULL
    RETURNING o.kind, o.person_id, o.y,
        ln(round(u.set_up + u.per_m2 * s.area_m2) / round(u.new_set_up + u.new_per_m2 * s.area_m2)) AS more
)
UPDATE labour_history h
SET sum = h.sum + t.more, squares = h.squares + t.squares
FROM (SELECT kind, person_id, sum(more) AS more, sum(y * y - (y - more) * (y - more)) AS squares FROM told GROUP BY kind, person_id) t
WHERE h.kind = t.kind AND h.person_id = t.person_id;
