//! Jobs and their events as two Parquet tables, for programs that reckon with columns.

use std::io::{self, Write};
use std::sync::Arc;

use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::parser::parse_message_type;

use super::{Archive, ArchiveError, Named, Summary, WrittenOut};
use crate::job::parse;

const WRITING: &str = "write the Parquet tables";
/// How many jobs are written at once.
const AT_ONCE: usize = 256;

/// One column of a table as it is filled.
enum Column {
    Text(Vec<Option<String>>),
    Number(Vec<Option<f64>>),
    Count(Vec<Option<i64>>),
}

/// One entry of a row.
enum Entry {
    Text(Option<String>),
    Number(Option<f64>),
    Count(Option<i64>),
}

impl Entry {
    fn column(&self) -> Column {
        match self {
            Self::Text(_) => Column::Text(Vec::new()),
            Self::Number(_) => Column::Number(Vec::new()),
            Self::Count(_) => Column::Count(Vec::new()),
        }
    }

    fn kind(&self, name: &str) -> String {
        match self {
            Self::Text(_) => format!("optional binary {name} (UTF8);"),
            Self::Number(_) => format!("optional double {name};"),
            Self::Count(_) => format!("optional int64 {name};"),
        }
    }
}

impl Column {
    fn push(&mut self, entry: Entry) {
        match (self, entry) {
            (Self::Text(all), Entry::Text(one)) => all.push(one),
            (Self::Number(all), Entry::Number(one)) => all.push(one),
            (Self::Count(all), Entry::Count(one)) => all.push(one),
            _ => {}
        }
    }

    fn write(self, to: &mut SerializedColumnWriter<'_>) -> Result<(), ParquetError> {
        match self {
            Self::Text(all) => {
                let levels = levels(&all);
                let texts = all.into_iter().flatten().map(String::into_bytes);
                let values: Vec<ByteArray> = texts.map(ByteArray::from).collect();
                to.typed::<ByteArrayType>().write_batch(values.as_slice(), Some(levels.as_slice()), None)?;
            }
            Self::Number(all) => {
                let levels = levels(&all);
                let values: Vec<f64> = all.into_iter().flatten().collect();
                to.typed::<DoubleType>().write_batch(values.as_slice(), Some(levels.as_slice()), None)?;
            }
            Self::Count(all) => {
                let levels = levels(&all);
                let values: Vec<i64> = all.into_iter().flatten().collect();
                to.typed::<Int64Type>().write_batch(values.as_slice(), Some(levels.as_slice()), None)?;
            }
        }
        Ok(())
    }
}

/// Returns for each entry whether it is there, as Parquet has it.
fn levels<T>(all: &[Option<T>]) -> Vec<i16> {
    all.iter().map(|one| i16::from(one.is_some())).collect()
}

type Row = Vec<(&'static str, Entry)>;

/// A table on its way to a file.
struct Table<W: Write + Send> {
    writer: SerializedFileWriter<W>,
    columns: Vec<Column>,
}

impl<W: Write + Send> Table<W> {
    /// Begins a table with the columns of an example.
    fn begin(name: &str, example: &Row, to: W) -> Result<Self, ParquetError> {
        let fields: Vec<String> = example.iter().map(|(name, entry)| entry.kind(name)).collect();
        let schema = parse_message_type(&format!("message {name} {{ {} }}", fields.join(" ")))?;
        let properties = WriterProperties::builder().set_created_by("lugwise".to_owned()).build();
        let writer = SerializedFileWriter::new(to, Arc::new(schema), Arc::new(properties))?;
        Ok(Self { writer, columns: example.iter().map(|(_, entry)| entry.column()).collect() })
    }

    fn push(&mut self, row: Row) {
        self.columns.iter_mut().zip(row).for_each(|(column, (_, entry))| column.push(entry));
    }

    /// Writes the rows that were pushed since the last time.
    fn flush(&mut self) -> Result<(), ParquetError> {
        let mut group = self.writer.next_row_group()?;
        for column in &mut self.columns {
            let empty = match column {
                Column::Text(_) => Column::Text(Vec::new()),
                Column::Number(_) => Column::Number(Vec::new()),
                Column::Count(_) => Column::Count(Vec::new()),
            };
            let full = std::mem::replace(column, empty);
            let Some(mut slot) = group.next_column()? else { break };
            full.write(&mut slot)?;
            slot.close()?;
        }
        group.close()?;
        Ok(())
    }

    fn end(self) -> Result<(), ParquetError> {
        self.writer.close().map(|_| ())
    }
}

impl Archive {
    /// Writes every whole job as a row of one Parquet table and every event of it as a row of another, without compression;
    /// a job whose events are not what was written is left out of both and named.
    ///
    /// # Errors
    ///
    /// When the archive cannot be read any further, or a table cannot be written.
    pub fn export_parquet(
        &self,
        jobs: impl Write + Send,
        events: impl Write + Send,
    ) -> Result<WrittenOut, ArchiveError> {
        let mut jobs = Table::begin("jobs", &blank_job(), jobs).map_err(written)?;
        let mut rows = Table::begin("events", &event_row("", 0, "", "", ""), events).map_err(written)?;
        let mut waiting = 0;
        let all = self.each(&mut |summary, lines| {
            jobs.push(job_row(Some(summary)));
            for (number, line) in (1_i64..).zip(lines) {
                rows.push(event_row(&summary.uid, number, &line.at, &what(&line.text), &line.text));
            }
            waiting += 1;
            if waiting < AT_ONCE {
                return Ok(());
            }
            waiting = 0;
            jobs.flush().and_then(|()| rows.flush()).map_err(written)
        })?;
        if waiting > 0 {
            jobs.flush().and_then(|()| rows.flush()).map_err(written)?;
        }
        jobs.end().and_then(|()| rows.end()).map_err(written)?;
        Ok(all)
    }
}

fn written(why: ParquetError) -> ArchiveError {
    ArchiveError::Stream { doing: WRITING, why: io::Error::other(why) }
}

fn event_row(uid: &str, number: i64, at: &str, what: &str, line: &str) -> Row {
    let text = |text: &str| Entry::Text(Some(text.to_owned()));
    vec![
        ("uid", text(uid)),
        ("number", Entry::Count(Some(number))),
        ("at", text(at)),
        ("event", text(what)),
        ("line", text(line)),
    ]
}

/// Returns the name of an event as it stands in its line.
fn what(line: &str) -> String {
    spelt(line).map_or_else(|| understood(line), str::to_owned)
}

/// Returns the name of an event from a line as this program writes it.
fn spelt(line: &str) -> Option<&str> {
    let moment = line.strip_prefix("(at:\"")?;
    let mut escaped = false;
    let end = moment.find(|c: char| {
        let ends = c == '"' && !escaped;
        escaped = c == '\\' && !escaped;
        ends
    })?;
    let name = moment[end + 1..].strip_prefix(",event:")?;
    let length = name.find(|c: char| !c.is_ascii_lowercase() && c != '_').unwrap_or(name.len());
    (length > 0).then(|| &name[..length])
}

/// Returns the name of an event from a line that somebody else wrote.
fn understood(line: &str) -> String {
    let record = parse(&format!("{line}\n")).ok().and_then(|parsed| parsed.records.into_iter().next());
    match record.map(|record| serde_json::to_value(record.event)) {
        Some(Ok(serde_json::Value::String(name))) => name,
        Some(Ok(serde_json::Value::Object(map))) => map.keys().next().cloned().unwrap_or_default(),
        _ => String::new(),
    }
}

fn blank_job() -> Row {
    job_row(None)
}

fn job_row(it: Option<&Summary>) -> Row {
    let text = |read: fn(&Summary) -> &str| Entry::Text(it.map(|it| read(it).to_owned()));
    let maybe = |read: fn(&Summary) -> Option<&str>| Entry::Text(it.and_then(read).map(str::to_owned));
    let number = |read: fn(&Summary) -> f64| Entry::Number(it.map(read));
    let count = |read: fn(&Summary) -> i64| Entry::Count(it.map(read));
    let named = |named: fn(&Summary) -> Option<&Named>, read: fn(&Named) -> &str| {
        Entry::Text(it.and_then(named).map(|named| read(named).to_owned()))
    };
    let chance = |named: fn(&Summary) -> Option<&Named>| {
        Entry::Number(it.and_then(named).map(|named| named.probability))
    };
    vec![
        ("uid", text(|it| &it.uid)),
        ("wiring", text(|it| &it.wiring)),
        ("instrument", text(|it| &it.instrument)),
        ("customer", text(|it| &it.customer)),
        ("technician", text(|it| &it.technician)),
        ("complaint", text(|it| &it.complaint)),
        ("symptoms", Entry::Text(it.map(|it| it.symptoms.join(",")))),
        ("opened_at", text(|it| &it.opened_at)),
        ("closed_at", maybe(|it| it.closed_at.as_deref())),
        ("ending", text(|it| it.ending.name())),
        ("reason", text(|it| &it.reason)),
        ("search_minutes", number(|it| it.search_minutes)),
        ("repair_minutes", number(|it| it.repair_minutes)),
        ("readings", count(|it| i64::from(it.readings))),
        ("skipped", count(|it| i64::from(it.skipped))),
        ("rounds", count(|it| i64::from(it.rounds))),
        ("renamed", count(|it| i64::from(it.renamed))),
        ("first_fault", named(|it| it.first.as_ref(), |named| &named.fault)),
        ("first_probability", chance(|it| it.first.as_ref())),
        ("last_fault", named(|it| it.last.as_ref(), |named| &named.fault)),
        ("last_kind", named(|it| it.last.as_ref(), |named| &named.kind)),
        ("last_place", named(|it| it.last.as_ref(), |named| &named.place)),
        ("last_family", named(|it| it.last.as_ref(), |named| &named.family)),
        ("last_probability", chance(|it| it.last.as_ref())),
        ("price", Entry::Count(it.and_then(|it| it.price))),
        ("warranty_of", maybe(|it| it.warranty_of.as_deref())),
        ("diverged_from", maybe(|it| it.diverged_from.as_deref())),
        ("removed_at", maybe(|it| it.removed_at.as_deref())),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("(at:\"2026-03-02T09:14:00Z\",event:opened(place:\"cavity\"))", "opened")]
    #[case("(at:\"2026-03-02T09:14:00Z\",event:undone)", "undone")]
    #[case("(at:\"a\\\",event:redone\",event:undone)", "undone")]
    #[case("(at: \"2026\", event: opened(place: \"cavity\"))", "opened")]
    #[case("(at:r\"2026\",event:undone)", "undone")]
    fn an_event_is_known_by_its_line(#[case] line: &str, #[case] expected: &str) {
        assert_eq!(what(line), expected);
    }
}
