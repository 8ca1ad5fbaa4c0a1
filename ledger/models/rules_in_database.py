"""What the database itself refuses about entries, the same on SQLite and PostgreSQL.

* An entry that is out of balance, or that lacks a line, is refused at commit: a row beside it counts both, and what
  it counts must be found in the table `zero`, which holds nothing but 0, by a foreign key that is checked at commit.
* That row is kept by triggers alone; a change that does not agree with the lines is refused.
* Numbers of a farm follow without a gap, and each entry names the digest of the entry before it.
* No line is added to an entry beyond the number of lines it was made with; a reversal is not reversed.
* Nothing is booked into a month that is closed; the close itself and its undoing are.
* Prices of one thing do not overlap where they say how long they hold.
"""

from farmops.core import guards

ZERO_ROW = "INSERT INTO ledger_zero (v) VALUES (0) ON CONFLICT DO NOTHING"
NOTHING = "SELECT 1"

_COUNTED = """
    imbalance = (SELECT COALESCE(SUM(cents), 0) FROM ledger_line WHERE entry_id = {row}.entry_id),
    lines_missing = (SELECT line_count FROM ledger_entry WHERE id = {row}.entry_id)
        - (SELECT COUNT(*) FROM ledger_line WHERE entry_id = {row}.entry_id)
"""

_CLOSED = """EXISTS (
    SELECT 1 FROM ledger_periodmark AS shut
    WHERE shut.farm_id = NEW.farm_id AND shut.is_close AND shut.month >= {month} AND NOT EXISTS (
        SELECT 1 FROM ledger_periodmark AS again
        WHERE again.farm_id = shut.farm_id AND again.month = shut.month AND again.turn = shut.turn AND NOT again.is_close))"""
_OVERLAPS = """EXISTS (
    SELECT 1 FROM ledger_rate AS other
    WHERE other.farm_id = NEW.farm_id AND other.kind = NEW.kind AND other.input_code = NEW.input_code
        AND other.machine_id {same} NEW.machine_id AND other.implement_id {same} NEW.implement_id
        AND other.hand_id {same} NEW.hand_id
        AND (other.valid_from < NEW.valid_from AND other.valid_until >= NEW.valid_from
            OR other.valid_from > NEW.valid_from AND other.valid_from <= NEW.valid_until)
        AND NOT EXISTS (
            SELECT 1 FROM ledger_rate AS later
            WHERE later.farm_id = other.farm_id AND later.kind = other.kind AND later.input_code = other.input_code
                AND later.machine_id {same} other.machine_id AND later.implement_id {same} other.implement_id
                AND later.hand_id {same} other.hand_id AND later.valid_from = other.valid_from
                AND later.correction_no > other.correction_no))"""

_SQLITE = {
    "ledger_entry_gets_its_balance": """
        AFTER INSERT ON ledger_entry BEGIN
            INSERT INTO ledger_entrybalance (entry_id, imbalance, lines_missing) VALUES (NEW.id, 0, NEW.line_count);
        END""",
    "ledger_line_counts": f"""
        AFTER INSERT ON ledger_line BEGIN
            UPDATE ledger_entrybalance SET {_COUNTED.format(row="NEW")} WHERE entry_id = NEW.entry_id;
        END""",
    "ledger_line_holds_whole_numbers": """
        AFTER INSERT ON ledger_line
        WHEN typeof(NEW.cents) <> 'integer' OR typeof(NEW.quantity_e4) NOT IN ('integer', 'null')
            OR typeof(NEW.price_e4) NOT IN ('integer', 'null')
        BEGIN SELECT RAISE(ABORT, 'ledger_line: cents, quantities and prices are whole numbers'); END""",
    "ledger_line_comes_with_its_entry": """
        BEFORE INSERT ON ledger_line
        WHEN NEW.line_no > (SELECT line_count FROM ledger_entry WHERE id = NEW.entry_id)
        BEGIN SELECT RAISE(ABORT, 'ledger_line: an entry has only the lines it was made with'); END""",
    "ledger_entry_follows": """
        BEFORE INSERT ON ledger_entry
        WHEN NEW.number <> 1 + COALESCE((SELECT MAX(number) FROM ledger_entry WHERE farm_id = NEW.farm_id), 0)
            OR NEW.hash_before <> COALESCE(
                (SELECT hash FROM ledger_entry WHERE farm_id = NEW.farm_id AND number = NEW.number - 1), '')
        BEGIN SELECT RAISE(ABORT, 'ledger_entry: the number or the digest before does not follow'); END""",
    "ledger_entry_reverses_no_reversal": """
        BEFORE INSERT ON ledger_entry
        WHEN (SELECT reverses_id FROM ledger_entry WHERE id = NEW.reverses_id) IS NOT NULL
        BEGIN SELECT RAISE(ABORT, 'ledger_entry: a reversal is not reversed'); END""",
    "ledger_entry_stays_out_of_closed_months": f"""
        BEFORE INSERT ON ledger_entry
        WHEN NEW.source_kind <> 'period' AND {_CLOSED.format(month="date(NEW.booked_on, 'start of month')")}
        BEGIN SELECT RAISE(ABORT, 'ledger_entry: the month is closed'); END""",
    "ledger_rate_overlaps_none": f"""
        BEFORE INSERT ON ledger_rate WHEN {_OVERLAPS.format(same="IS")}
        BEGIN SELECT RAISE(ABORT, 'ledger_rate: it overlaps another price of the same'); END""",
    "ledger_entrybalance_starts": """
        BEFORE INSERT ON ledger_entrybalance
        WHEN EXISTS (SELECT 1 FROM ledger_entrybalance WHERE entry_id = NEW.entry_id)
        BEGIN SELECT RAISE(ABORT, 'ledger_entrybalance: kept by the database alone'); END""",
    "ledger_entrybalance_agrees": """
        BEFORE UPDATE ON ledger_entrybalance
        WHEN NEW.entry_id <> OLD.entry_id
            OR NEW.imbalance <> (SELECT COALESCE(SUM(cents), 0) FROM ledger_line WHERE entry_id = NEW.entry_id)
            OR NEW.lines_missing <> (SELECT line_count FROM ledger_entry WHERE id = NEW.entry_id)
                - (SELECT COUNT(*) FROM ledger_line WHERE entry_id = NEW.entry_id)
        BEGIN SELECT RAISE(ABORT, 'ledger_entrybalance: kept by the database alone'); END""",
    "ledger_entrybalance_stays": """
        BEFORE DELETE ON ledger_entrybalance
        BEGIN SELECT RAISE(ABORT, 'ledger_entrybalance: kept by the database alone'); END""",
}

_POSTGRES_FUNCTIONS = f"""
CREATE OR REPLACE FUNCTION ledger_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '%: %', TG_TABLE_NAME, TG_ARGV[0] USING ERRCODE = '23514';
END $$;
CREATE OR REPLACE FUNCTION ledger_entry_gets_its_balance() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO ledger_entrybalance (entry_id, imbalance, lines_missing) VALUES (NEW.id, 0, NEW.line_count);
  RETURN NULL;
END $$;
CREATE OR REPLACE FUNCTION ledger_line_counts() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  UPDATE ledger_entrybalance SET {_COUNTED.format(row="ledger_entrybalance")}
    WHERE entry_id IN (SELECT entry_id FROM added);
  RETURN NULL;
END $$;
CREATE OR REPLACE FUNCTION ledger_rate_overlaps_none() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  PERFORM 1 FROM farms_farm WHERE id = NEW.farm_id FOR NO KEY UPDATE; -- who sets another price now is seen
  IF {_OVERLAPS.format(same="IS NOT DISTINCT FROM")} THEN
    RAISE EXCEPTION 'ledger_rate: it overlaps another price of the same' USING ERRCODE = '23514';
  END IF;
  RETURN NEW;
END $$;
CREATE OR REPLACE FUNCTION ledger_line_comes_with_its_entry() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.line_no > (SELECT line_count FROM ledger_entry WHERE id = NEW.entry_id) THEN
    RAISE EXCEPTION 'ledger_line: an entry has only the lines it was made with' USING ERRCODE = '23514';
  END IF;
  RETURN NEW;
END $$;
CREATE OR REPLACE FUNCTION ledger_entry_follows() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.number <> 1 + COALESCE((SELECT MAX(number) FROM ledger_entry WHERE farm_id = NEW.farm_id), 0)
     OR NEW.hash_before <> COALESCE(
        (SELECT hash FROM ledger_entry WHERE farm_id = NEW.farm_id AND number = NEW.number - 1), '') THEN
    RAISE EXCEPTION 'ledger_entry: the number or the digest before does not follow' USING ERRCODE = '23514';
  END IF;
  IF (SELECT reverses_id FROM ledger_entry WHERE id = NEW.reverses_id) IS NOT NULL THEN
    RAISE EXCEPTION 'ledger_entry: a reversal is not reversed' USING ERRCODE = '23514';
  END IF;
  IF NEW.source_kind <> 'period' AND {_CLOSED.format(month="date_trunc('month', NEW.booked_on)::date")} THEN
    RAISE EXCEPTION 'ledger_entry: the month is closed' USING ERRCODE = '23514';
  END IF;
  RETURN NEW;
END $$;
CREATE OR REPLACE FUNCTION ledger_entrybalance_agrees() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF NEW.entry_id <> OLD.entry_id
     OR NEW.imbalance <> (SELECT COALESCE(SUM(cents), 0) FROM ledger_line WHERE entry_id = NEW.entry_id)
     OR NEW.lines_missing <> (SELECT line_count FROM ledger_entry WHERE id = NEW.entry_id)
        - (SELECT COUNT(*) FROM ledger_line WHERE entry_id = NEW.entry_id) THEN
    RAISE EXCEPTION 'ledger_entrybalance: kept by the database alone' USING ERRCODE = '23514';
  END IF;
  RETURN NEW;
END $$;
"""

_REFUSE_KEPT = "EXECUTE FUNCTION ledger_refuse('kept by the database alone')"
_POSTGRES = {
    "ledger_entry": {
        "gets_its_balance": "AFTER INSERT ON ledger_entry FOR EACH ROW EXECUTE FUNCTION ledger_entry_gets_its_balance()",
        "follows": "BEFORE INSERT ON ledger_entry FOR EACH ROW EXECUTE FUNCTION ledger_entry_follows()",
    },
    "ledger_line": {
        "counts": (
            "AFTER INSERT ON ledger_line REFERENCING NEW TABLE AS added "
            "FOR EACH STATEMENT EXECUTE FUNCTION ledger_line_counts()"
        ),
        "comes_with_its_entry": (
            "BEFORE INSERT ON ledger_line FOR EACH ROW EXECUTE FUNCTION ledger_line_comes_with_its_entry()"
        ),
    },
    "ledger_rate": {
        "overlaps_none": "BEFORE INSERT ON ledger_rate FOR EACH ROW EXECUTE FUNCTION ledger_rate_overlaps_none()",
    },
    "ledger_entrybalance": {
        "agrees": (
            "BEFORE UPDATE ON ledger_entrybalance FOR EACH ROW EXECUTE FUNCTION ledger_entrybalance_agrees()"
        ),
        "stays": f"BEFORE DELETE ON ledger_entrybalance FOR EACH ROW {_REFUSE_KEPT}",
        "stays_whole": f"BEFORE TRUNCATE ON ledger_entrybalance FOR EACH STATEMENT {_REFUSE_KEPT}",
    },
}


def register() -> None:
    """Hand the rules to the plumbing that installs them after every migration."""
    guards.register("ledger", "sqlite", ZERO_ROW, NOTHING)
    for name, body in _SQLITE.items():
        guards.register("ledger", "sqlite", f"CREATE TRIGGER {name} {body}", f"DROP TRIGGER IF EXISTS {name}")
    guards.register("ledger", "postgresql", ZERO_ROW, NOTHING)
    guards.register("ledger", "postgresql", _POSTGRES_FUNCTIONS, NOTHING)
    for table, triggers in _POSTGRES.items():
        for name, body in triggers.items():
            guards.register(
                "ledger",
                "postgresql",
                f"CREATE TRIGGER {table}_{name} {body}",
                f"DROP TRIGGER IF EXISTS {table}_{name} ON {table}",
            )
