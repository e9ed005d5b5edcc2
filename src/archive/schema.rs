//! The tables, as a list of steps that is only added to.

use rusqlite::{Connection, OptionalExtension as _, Result, TransactionBehavior};

/// What stands in a database's header to say that it is an archive of this program.
pub(super) const APPLICATION: i32 = 0x4C75_6777;

/// The steps from an empty database to today's tables. Never changed, only added to.
const STEPS: &[&str] = &[
    include_str!("schema_1.sql"),
    include_str!("schema_2.sql"),
    include_str!("schema_3.sql"),
    include_str!("schema_4.sql"),
];

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
