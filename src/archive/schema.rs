//! The tables, as a list of steps that is only added to.

use rusqlite::{Connection, OptionalExtension as _, Result, Row, TransactionBehavior};

/// What stands in a database's header to say that it is an archive of this program.
pub(super) const APPLICATION: i32 = 0x4C75_6777;

/// The steps from an empty database to today's tables. Never changed, only added to.
const STEPS: &[&str] = &[
    include_str!("schema_1.sql"),
    include_str!("schema_2.sql"),
    include_str!("schema_3.sql"),
    include_str!("schema_4.sql"),
];

/// The tables that hold what happened.
pub(super) const RECORD: [&str; 3] = ["about", "job", "event"];
/// The tables that follow from the events, those first that refer to others.
const DERIVED: [&str; 7] = ["reading", "skip", "taught", "summary", "measured", "named", "search"];
/// What the names of the tables begin with that the index of words is kept in.
const SHADOWS: &str = "search_";
/// What the index of words is told when it is made.
const SEARCH_MANNERS: &str = "INSERT INTO search (search, rank) VALUES ('secure-delete', 1);";

/// Returns the version of the tables that this program knows.
pub(super) const fn known() -> i64 {
    STEPS.len() as i64
}

/// Returns the version of the tables that a database has.
pub(super) fn version(connection: &Connection) -> Result<i64> {
    connection.pragma_query_value(None, "user_version", |row| row.get(0))
}

/// Returns the version of the tables for which everything that follows from the events was made.
pub(super) fn kept_for(connection: &Connection) -> Result<i64> {
    let sql = "SELECT CAST(said AS INTEGER) FROM about WHERE name = 'kept_for'";
    Ok(connection.query_row(sql, [], |row| row.get(0)).optional()?.unwrap_or(1))
}

/// Notes that everything that follows from the events was made for today's tables.
pub(super) fn keeps(connection: &Connection) -> Result<()> {
    let sql = "INSERT OR REPLACE INTO about (name, said) VALUES ('kept_for', ?1)";
    connection.execute(sql, [known().to_string()])?;
    Ok(())
}

/// Returns which program a database says it belongs to.
pub(super) fn application(connection: &Connection) -> Result<i64> {
    connection.pragma_query_value(None, "application_id", |row| row.get(0))
}

/// Takes the steps that a database has not taken yet, all of them or none.
pub(super) fn migrate(connection: &mut Connection) -> Result<()> {
    if version(connection)? >= known() {
        return Ok(());
    }
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let done = version(&transaction)?;
    for (step, sql) in (1_i64..).zip(STEPS).filter(|(step, _)| *step > done) {
        transaction.execute_batch(sql)?;
        transaction.pragma_update(None, "user_version", step)?;
    }
    transaction.commit()
}

/// Returns whether what the database said is about a table that follows from the events.
pub(super) fn of_lists(said: &str) -> bool {
    let missing = |name: &&str| {
        [
            format!("no such table: {name}"),
            format!("no such table: main.{name}"),
            format!("table {name} has no"),
        ]
        .iter()
        .any(|words| said.contains(words.as_str()))
    };
    let words = ["fts5", "FTS5", "vtable constructor failed: search"];
    words.iter().any(|word| said.contains(word)) || DERIVED.iter().any(missing)
}

/// Returns an empty archive in memory.
pub(super) fn fresh() -> Result<Connection> {
    let mut connection = Connection::open_in_memory()?;
    migrate(&mut connection)?;
    Ok(connection)
}

/// Makes the tables that follow from the events anew, empty and with their indexes, whatever became of them.
pub(super) fn renew(connection: &Connection) -> Result<()> {
    let made = Made::all(&fresh()?)?;
    let (shadows, made): (Vec<Made>, Vec<Made>) =
        made.into_iter().partition(|made| made.name.starts_with(SHADOWS));
    complete_search(connection, &shadows)?;
    let names = DERIVED.into_iter().chain(shadows.iter().map(|made| made.name.as_str()));
    for name in names {
        connection.execute_batch(&format!("DROP TABLE IF EXISTS {name}"))?;
    }
    for made in made.iter().filter(|made| DERIVED.contains(&made.table.as_str())) {
        connection.execute_batch(&made.sql)?;
    }
    connection.execute_batch(SEARCH_MANNERS)
}

/// Puts back what an index of words must have before it can be dropped.
fn complete_search(connection: &Connection, shadows: &[Made]) -> Result<()> {
    for shadow in shadows {
        if !has(connection, &shadow.name)? {
            connection.execute_batch(&shadow.sql)?;
        }
    }
    connection.execute_batch("INSERT OR REPLACE INTO search_config (k, v) VALUES ('version', 4)")
}

fn has(connection: &Connection, name: &str) -> Result<bool> {
    let sql = "SELECT count(*) FROM sqlite_schema WHERE name = ?1";
    Ok(connection.query_row(sql, [name], |row| row.get::<_, i64>(0))? > 0)
}

/// Returns the indexes of the tables that follow from the events that a database lacks.
pub(super) fn missing_indexes(connection: &Connection, fresh: &Connection) -> Result<Vec<String>> {
    let mut missing = Vec::new();
    for made in Made::all(fresh)?.into_iter().filter(|made| made.name != made.table) {
        if DERIVED.contains(&made.table.as_str()) && !has(connection, &made.name)? {
            missing.push(made.name);
        }
    }
    Ok(missing)
}

/// A table or an index, and how it was made.
struct Made {
    name: String,
    table: String,
    sql: String,
}

impl Made {
    fn row(row: &Row<'_>) -> Result<Self> {
        Ok(Self { name: row.get(0)?, table: row.get(1)?, sql: row.get(2)? })
    }

    /// Returns every table and index, in the order in which they were made.
    fn all(connection: &Connection) -> Result<Vec<Self>> {
        let sql = "SELECT name, tbl_name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY rowid";
        let mut statement = connection.prepare(sql)?;
        statement.query_map([], Self::row)?.collect()
    }
}
