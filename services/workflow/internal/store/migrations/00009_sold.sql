-- +goose Up

-- The floor now follows sales: when a piece was sold, or invoiced, and did not come back. NULL: the shop has it to
-- work on, or to sell. Of sales from before, sales' log is read: nothing of it was applied here yet.
ALTER TABLE piece ADD COLUMN sold_at timestamptz;
