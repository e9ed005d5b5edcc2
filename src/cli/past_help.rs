//! What the commands of past jobs print, as their help tells it.

pub(super) const PAST: &str = "\
JSON: {\"archive\", \"total\", \"jobs\": [a job]}; `lugwise past COMMAND --help` tells that of each command
  a job: {\"uid\", \"wiring\", \"instrument\", \"customer\", \"technician\", \"complaint\", \"symptoms\", \"opened_at\", \"closed_at\",
  \"search_minutes\", \"repair_minutes\", \"first\", \"last\": {\"fault\", \"sentence\", \"kind\", \"place\", \"family\", \"probability\"}, \"renamed\",
  \"ending\": \"open\"|\"cured\"|\"unproven\", \"reason\", \"readings\", \"skipped\", \"rounds\", \"price\", \"warranty_of\",
  \"diverged_from\", \"removed_at\"}; found by words, also \"around\"
WORDS that are also a command are searched for after `--`. UID is a job's name, or the beginning of one.
The archive is the file that LUGWISE_ARCHIVE names, or the usual one of your system; with LUGWISE_ARCHIVE=off there is none.";
pub(super) const SHOW: &str = "JSON: a job, as `lugwise past` lists it";
pub(super) const REPLAY: &str = "\
JSON: {\"uid\", \"steps\": [{\"number\", \"at\", \"kind\", \"said\", \"counts\", \"asked_by\": \"tree\"|\"advisor\"|\"technician\", \"tree\",
  \"asked\", \"measurement\", \"reading\", \"typed\", \"found\", \"healthy\", \"passed\", \"later\", \"before\", \"after\"}]}
  before and after: how the suspects stood, [{\"probability\", \"sentence\", \"faults\"}]; counts: false when it was taken back
The events alone are told, nothing is computed anew.";
pub(super) const IMPORT: &str = "JSON: {\"files\": [{\"file\", \"uid\", \"added\", \"diverged_from\", \"notice\", \"mended\"}], \"problems\": [{\"file\", \"message\"}]}\n\
     Of a folder, the files that end in .job or .job.ron are taken in. Exit code 1 when one cannot be.";
pub(super) const EXPORT: &str = "JSON: {\"jobs\", \"files\": [{\"file\", \"bytes\"}], \"left_out\": [{\"uid\", \"why\"}]}; a file is never written over\n\
     Of all jobs, damaged ones are left out and named on standard error, and the exit code is 3.\n\
     parquet writes two tables: NAME.parquet has a row for each job, NAME-events.parquet one for each event.";
pub(super) const MERGE: &str = "\
JSON: {\"new\", \"longer\", \"same\", \"diverged\": [{\"uid\", \"from\"}], \"mended\", \"left_out\": [{\"uid\", \"why\"}]}
  A job that is damaged here is mended by a whole one that agrees with what is left of it. Jobs that cannot be taken in
  are named on standard error, and the exit code is 3.";
pub(super) const BACKUP: &str = "\
JSON: {\"file\", \"jobs\", \"events\", \"damaged\": [{\"uid\", \"why\"}]}; a file is never written over
  Damaged jobs are copied as they stand and named on standard error; the exit code is 3 then.";
pub(super) const RESTORE: &str = "JSON: {\"jobs\", \"events\", \"set_aside\", \"names_back\", \"damaged\"}; set_aside: where the archive is that was there before\n\
     names_back: how many jobs have the customer again that was taken out before";
pub(super) const FORGET: &str = "JSON: {\"uid\", \"events\", \"scrubbed\"}; scrubbed: false while another window has the archive open\n\
     Customer and instrument become empty: the instrument's name and number go too.\n\
     The job file itself and backups made before still hold the name: delete them by hand.";
pub(super) const CHECKED: &str = "\
JSON: {\"archive\", \"jobs\", \"events\", \"damaged\": [{\"uid\", \"why\"}], \"lists\": [..], \"compared\", \"differing\", \"differ\": [{\"uid\", \"what\": [..]}]}
  Every event is held against its checksum, and lists, figures, search and the price of a bill against the events. Every
  damaged job is named, and lists that are damaged or missing; of all jobs that differ, the first hundred. The exit code
  is 1 then. `lugwise past rebuild` mends all but damaged jobs, which `past import` or `past merge` mend.
  compared: false where an older program kept less of the archive and it may not be written.";
pub(super) const LOOKED: &str = "JSON: {\"archive\", \"jobs\", \"events\", \"damaged\": [{\"uid\", \"why\"}]}\n\
     Damaged jobs are left out of lists and search and named on standard error; the exit code is 3 then.";
pub(super) const FIGURES: &str = "\
JSON: [{\"chart\", \"title\", \"by\", \"rows\": [..]}]; each row has \"n\", from how many it comes, and \"small\", whether these are few
CHART: weeks, minutes, pareto, checks, renamed, comebacks, unproven, skipped or calibration; all of them when not given.
Put together by fault, a row's name is the fault's id, and \"sentence\" tells it in words; text and csv have \"id\" last.
Text that a spreadsheet could take for a formula gets an apostrophe in front in csv.";
pub(super) const REPORT: &str = "JSON: {\"file\", \"bytes\", \"which\"}; a file is never written over";
pub(super) const LEARNT: &str = "\
JSON: {\"on\", \"jobs\", \"strength\", \"wiring\", \"families\": [{\"family\", \"words\", \"before\", \"after\", \"found\", \"of\", \"sentence\"}]}
  before and after: shares of all walk-ins; found, of: in how many cured jobs, of how many that could have had it
While it is on, new jobs start with the priors told here and keep them; jobs that were started before stay as they are.";
