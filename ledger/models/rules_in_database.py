"""What the database itself refuses about entries, the same on SQLite and PostgreSQL.

* An entry that is out of balance, or that lacks a line, is refused at commit: a row beside it counts both, and what
  it counts must be found in the table `zero`, which holds nothing but 0, by a foreign key that is checked at commit.
* That row is kept by triggers alone; a change that does not agree with the lines is refused.
* Numbers of a farm follow without a gap, and each entry names the digest of the entry before it.
* No line is added to an entry beyond the number of lines it was made with; a reversal is not reversed.
"""

from farmops.core import guards

ZERO_ROW = "INSERT INTO ledger_zero (v) VALUES (0) ON CONFLICT DO NOTHING"
NOTHING = "SELECT 1"

_COUNTED = """
    imbalance = (SELECT COALESCE(SUM(cents), 0) FROM ledger_line WHERE entry_id = {row}.entry_id),
    lines_missing = (SELECT line_count FROM ledger_entry WHERE id = {row}.entry_id)
        - (SELECT COUNT(*) FROM ledger_line WHERE entry_id = {row}.entry_id)
"""

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
  UPDATE ledger_entrybalance SET {_COUNTED.format(row="NEW")} WHERE entry_id = NEW.entry_id;
  RETURN NULL;
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
        "counts": "AFTER INSERT ON ledger_line FOR EACH ROW EXECUTE FUNCTION ledger_line_counts()",
        "comes_with_its_entry": (
            "BEFORE INSERT ON ledger_line FOR EACH ROW EXECUTE FUNCTION ledger_line_comes_with_its_entry()"
        ),
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
