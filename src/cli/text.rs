//! How a job stands, as text for a person at a shell.

use crate::job::{ReadingId, Speaker};
use crate::readings::why_heard;
use crate::workbench::{
    Ask, BatteryView, ControlView, DoubtView, FailedProofView, FoundView, MaskedView, PaperView,
    PredictionView, ProofView, ReadingView, RoundView, Stage, StepView, SuspectView, VerdictView, View,
};

/// Lines are broken at this many characters.
const WIDTH: usize = 100;
/// What would be told as 0.0 % is left out.
const NEGLIGIBLE: f64 = 0.0005;
/// How many fault ids of a group are named; the most probable come first.
const NAMED: usize = 2;

/// Tells everything about a job that a person needs to go on.
pub(super) fn text(view: &View) -> String {
    let paragraphs = [
        view.notices.iter().map(|notice| filled("note: ", notice)).collect(),
        understood_text(view),
        view.doubt.iter().flat_map(doubt_text).collect(),
        view.cautions.iter().map(|c| filled(&format!("caution [{}]: ", c.key), &c.text)).collect(),
        view.rounds.iter().flat_map(round_text).collect(),
        readings_text(view),
        found_text(view),
        suspects_text(view),
        view.step.iter().flat_map(step_text).collect(),
        view.verdict.iter().flat_map(verdict_text).collect(),
        masked_text(&view.masked),
        alternatives_text(view),
        paper_text(&view.paper),
        end_text(view),
    ];
    let told = paragraphs.into_iter().filter(|lines: &Vec<String>| !lines.is_empty());
    told.map(|lines| lines.join("\n")).collect::<Vec<_>>().join("\n\n")
}

/// Tells what is read out to a customer on the telephone, the cautions first.
pub(super) fn script_text(view: &View) -> String {
    let cautions = view.cautions.iter().map(|c| filled(&format!("caution [{}]: ", c.key), &c.text));
    let said = match &view.step {
        Some(step) if step.script.is_empty() => vec![NOT_BY_TELEPHONE.to_owned()],
        Some(step) => {
            let lines = step.script.iter().map(|line| filled("Say: ", line));
            lines.chain([format!("  then: lugwise {}", then_of_step(&step.ask))]).collect()
        }
        None => vec!["There is nothing to read out: no step is on offer now.".to_owned()],
    };
    let answers = match view.step.as_ref().map(|step| &step.ask) {
        Some(Ask::Question { answers }) => headed("answers", numbered(answers.iter().map(String::as_str))),
        _ => Vec::new(),
    };
    cautions.chain(said).chain(answers).collect::<Vec<_>>().join("\n")
}

const NOT_BY_TELEPHONE: &str = "This step cannot be done on the telephone: the instrument has to be opened.\n  \
                                hint: `access JOB telephone` asks only for what can be done from outside";

/// Tells what is doubted, and the command that does what is to be done about it.
fn doubt_text(doubt: &DoubtView) -> Vec<String> {
    let then = |id: ReadingId| format!("  then: lugwise withdraw JOB {} --reason \"a slip\"", id.0);
    let told = filled("doubt: ", &doubt.sentence);
    std::iter::once(told).chain(doubt.withdraw.map(then)).collect()
}

/// Tells what was understood until the first reading is taken: then it can still be put right.
fn understood_text(view: &View) -> Vec<String> {
    let fresh = view.stage == Stage::Finding && view.readings.is_empty() && !view.understood.is_empty();
    if fresh {
        let why = why_heard(&view.complaint);
        let heard = (!why.is_empty()).then(|| filled("  heard: ", &why));
        [filled("understood: ", &view.understood)].into_iter().chain(heard).collect()
    } else {
        Vec::new()
    }
}

/// Tells the readings in order, those too that said that a repair did not cure.
fn readings_text(view: &View) -> Vec<String> {
    let failed = |taken: usize| {
        let rounds = view.rounds.iter().filter(move |round| round.after == taken);
        rounds.flat_map(|round| &round.failed).map(failed_text)
    };
    let taken = view.readings.iter().enumerate();
    let told = taken.flat_map(|(at, reading)| failed(at).chain([reading_text(reading)]));
    headed("readings", told.chain(failed(view.readings.len())).collect())
}

fn failed_text(proof: &FailedProofView) -> String {
    let told =
        format!("{}: {}, healthy {} (a proof that failed)", proof.sentence, proof.found, proof.healthy);
    filled("  p. ", &told)
}

/// Tells the part values that are found.
fn found_text(view: &View) -> Vec<String> {
    let line = |f: &FoundView| {
        filled("  ", &format!("{}, {}: {} ({} to {})", f.title, f.what, f.value, f.low, f.high))
    };
    headed("found so far", view.found.iter().map(line).collect())
}

fn reading_text(r: &ReadingView) -> String {
    let told = format!("{}: {}, healthy {}{}", r.sentence, r.found, r.healthy, reading_mark(r));
    filled(&format!("{:>3}. ", r.id.0), &told)
}

fn reading_mark(reading: &ReadingView) -> &'static str {
    match (reading.withdrawn, reading.surprising) {
        (true, _) => " (withdrawn)",
        (false, true) => " (fits no suspect well: take it again)",
        (false, false) => "",
    }
}

fn suspects_text(view: &View) -> Vec<String> {
    if view.stage != Stage::Finding {
        return Vec::new();
    }
    let mut lines: Vec<String> =
        view.suspects.iter().enumerate().map(|(i, s)| suspect_text(i + 1, s)).collect();
    if view.others > NEGLIGIBLE {
        lines.push(format!("     {:>5.1} %  all others together", 100.0 * view.others));
    }
    lines.extend(view.outlook.iter().map(|outlook| filled("  left: ", &outlook.sentence)));
    let heard = view.tone.iter().map(|heard| match heard.tone.setting.as_str() {
        "" => heard.tone.sentence.clone(),
        setting => format!("{} ({setting})", heard.tone.sentence),
    });
    lines.extend(heard.map(|told| filled("  the first would sound: ", &told)));
    headed("suspects", lines)
}

fn suspect_text(number: usize, suspect: &SuspectView) -> String {
    let head = format!("{number:>3}. {:>5.1} %  ", 100.0 * suspect.probability);
    let ids = filled("              ", &few(&suspect.faults));
    format!("{}\n{ids}", filled(&head, &suspect.sentence))
}

/// Names the first few faults and counts the rest.
fn few(faults: &[String]) -> String {
    let named = faults.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
    match faults.len().saturating_sub(NAMED) {
        0 => named,
        more => format!("{named}, and {more} more"),
    }
}

fn step_text(step: &StepView) -> Vec<String> {
    let mut lines = vec![filled(&format!("next ({}): ", speaker(step)), &step.headline)];
    if !step.open_first.is_empty() {
        lines.push(filled("  open first: ", &step.open_first.join(", ")));
    }
    match &step.ask {
        Ask::Question { answers } => lines.extend(numbered(answers.iter().map(String::as_str))),
        Ask::Measure(_) => lines.extend(measure_text(step)),
    }
    if !step.why.is_empty() {
        lines.push(filled("  why: ", &step.why));
    }
    lines.push(format!("  then: lugwise {}", then_of_step(&step.ask)));
    lines
}

fn then_of_step(ask: &Ask) -> &'static str {
    match ask {
        Ask::Question { .. } => "answer JOB NUMBER",
        Ask::Measure(_) => "record JOB READING",
    }
}

fn speaker(step: &StepView) -> String {
    match step.speaker {
        Speaker::Tree => format!("tree \"{}\"", step.tree.as_deref().unwrap_or_default()),
        Speaker::Advisor => "advisor".to_owned(),
        Speaker::Technician => "your choice".to_owned(),
    }
}

fn measure_text(step: &StepView) -> Vec<String> {
    let controls = step.controls.iter().map(control_text).collect::<Vec<_>>().join(", ");
    let facts = [
        ("dial", step.dial.as_str()),
        ("red", &step.red),
        ("black", &step.black),
        ("controls", &controls),
        ("battery", step.battery.map_or("", BatteryView::says)),
        ("where", &step.place),
        ("flex", &step.flex),
        ("healthy", &step.healthy),
    ];
    let said = facts.iter().filter(|(_, fact)| !fact.is_empty());
    said.map(|(name, fact)| filled(&format!("  {name}: "), fact)).chain(predictions_text(step)).collect()
}

fn control_text(control: &ControlView) -> String {
    format!("{} {} {}", control.name, if control.moved { "to" } else { "at" }, control.stand)
}

fn predictions_text(step: &StepView) -> Vec<String> {
    let likely = step.predictions.iter().filter(|prediction| prediction.probability > NEGLIGIBLE);
    headed("  what the suspects would read", likely.map(prediction_text).collect())
}

fn prediction_text(prediction: &PredictionView) -> String {
    let told = format!("{}: {}", prediction.sentence, prediction.text);
    filled(&format!("    {:>5.1} %  ", 100.0 * prediction.probability), &told)
}

fn alternatives_text(view: &View) -> Vec<String> {
    let head = match view.step.as_ref().map(|step| &step.ask) {
        Some(Ask::Question { .. }) => "or pass the question over (`record` takes the first, `choose` any)",
        Some(Ask::Measure(_)) => "or instead (with `choose`)",
        None => "or measure on (with `choose`)",
    };
    let told: Vec<String> = view.alternatives.iter().map(alternative_text).collect();
    headed(head, numbered(told.iter().map(String::as_str)))
}

/// One alternative in a line: what to do, with what it takes.
fn alternative_text(step: &StepView) -> String {
    let moves = step.controls.iter().filter(|c| c.moved).map(|c| format!("{} to {}", c.name, c.stand));
    let battery = step.battery.filter(|battery| battery.moved).map(|battery| battery.says().to_lowercase());
    let facts = moves
        .chain(battery)
        .chain(step.open_first.iter().map(|told| opening(told)))
        .chain([duration(step.seconds)]);
    format!("{} ({})", step.headline, facts.collect::<Vec<_>>().join("; "))
}

/// Only the place; how it is opened stands in the step itself.
fn opening(told: &str) -> String {
    format!("open the {}", told.split(':').next().unwrap_or(told))
}

fn duration(seconds: f64) -> String {
    match seconds < 90.0 {
        true => format!("about {seconds:.0} s"),
        false => format!("about {:.0} min", seconds / 60.0),
    }
}

fn verdict_text(verdict: &VerdictView) -> Vec<String> {
    let sure = if verdict.sure { "verdict" } else { "nothing better to measure; best guess" };
    let mut lines = vec![
        filled(&format!("{sure}: "), &format!("{} ({:.1} %)", verdict.sentence, 100.0 * verdict.probability)),
        filled("  faults: ", &few(&verdict.faults)),
        filled("  repair: ", &format!("{}; about {:.0} minutes", verdict.repair, verdict.minutes)),
    ];
    lines.push(filled("  why now: ", verdict.stop.says()));
    if !verdict.inspect.is_empty() {
        lines.push(filled("  look first: ", &verdict.inspect));
    }
    lines.push("  then: lugwise conclude JOB".to_owned());
    lines
}

fn masked_text(masked: &[MaskedView]) -> Vec<String> {
    let warning = format!("{}. No reading so far would tell whether there is besides", MaskedView::WARNING);
    headed(&filled("masked: ", &warning), masked.iter().map(|group| filled("  ", &group.sentence)).collect())
}

fn round_text(round: &RoundView) -> [String; 3] {
    let why = if round.remains.is_empty() { "a proof reading failed" } else { round.remains.as_str() };
    [
        filled("concluded before: ", &round.sentence),
        filled("  repaired: ", &round.repaired),
        filled("  not cured: ", why),
    ]
}

/// Tells what has been settled on paper.
fn paper_text(paper: &PaperView) -> Vec<String> {
    let told = [
        ("estimate: ", &paper.estimate),
        ("agreed: ", &paper.authorised),
        ("bill: ", &paper.bill),
        ("comeback of: ", &paper.warranty),
    ];
    let lines = told.into_iter().filter_map(|(name, words)| words.as_ref().map(|words| filled(name, words)));
    lines.chain(paper.photos.iter().map(|photo| filled("photo: ", photo))).collect()
}

fn end_text(view: &View) -> Vec<String> {
    let mut lines = Vec::new();
    lines.extend(view.concluded.iter().map(|c| filled("concluded: ", &c.sentence)));
    lines.extend(view.repaired.iter().map(|what| filled("repaired: ", what)));
    lines.extend(view.proof.first().map(|_| filled("proof: ", ProofView::BANDS)));
    lines.extend(view.proof.iter().enumerate().map(|(i, proof)| proof_text(i, proof)));
    lines.extend(view.closed.iter().map(|how| filled("closed: ", how)));
    lines.extend(then(view).map(|command| format!("  then: lugwise {command}")));
    lines
}

/// Returns the command that comes next once the fault is named.
fn then(view: &View) -> Option<String> {
    let fixed = match view.stage {
        Stage::Finding => return None,
        Stage::Repairing => "repair JOB WHAT --minutes MINUTES",
        Stage::Proving => return Some(then_of_proof(&view.proof)),
        Stage::Closed => "ticket JOB -o FILE",
    };
    Some(fixed.to_owned())
}

fn then_of_proof(proof: &[ProofView]) -> String {
    let first = |passed: Option<bool>| proof.iter().position(|p| p.passed == passed).map(|index| index + 1);
    match (first(None), first(Some(false))) {
        (Some(next), _) => format!("prove JOB READING   (it takes proof {next})"),
        (None, Some(failed)) => {
            format!("prove JOB READING --number {failed}   (to take it again; if it is right, search-on JOB)")
        }
        (None, None) => "close JOB --cured".to_owned(),
    }
}

fn proof_text(index: usize, proof: &ProofView) -> String {
    let found = match proof.passed {
        None => "to be taken".to_owned(),
        Some(true) => format!("{}, passed", proof.found),
        Some(false) => format!("{}, NOT healthy", proof.found),
    };
    let battery =
        proof.battery.map_or_else(String::new, |battery| format!(" ({})", battery.says().to_lowercase()));
    let told = format!("{}{battery}, healthy {}: {found}", proof.sentence, proof.healthy);
    filled(&format!("proof {}: ", index + 1), &told)
}

fn headed(head: &str, lines: Vec<String>) -> Vec<String> {
    let head = (!lines.is_empty()).then(|| format!("{head}:"));
    head.into_iter().chain(lines).collect()
}

fn numbered<'a>(lines: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    lines.into_iter().enumerate().map(|(i, line)| filled(&format!("  {}. ", i + 1), line)).collect()
}

/// Breaks a text after its head into lines; the lines after the first stand below the text.
fn filled(head: &str, text: &str) -> String {
    let mut column = head.chars().count();
    let indent = if column <= 20 { column } else { 4 };
    let (mut told, mut first) = (head.to_owned(), true);
    for word in unbroken(text).split(' ') {
        let length = word.chars().count();
        if !first && column + 1 + length > WIDTH {
            told.push('\n');
            told.push_str(&" ".repeat(indent));
            column = indent;
        } else if !first {
            told.push(' ');
            column += 1;
        }
        told.push_str(word);
        column += length;
        first = false;
    }
    told.replace(TIE, " ")
}

/// Stands for a blank at which no line is broken.
const TIE: char = '\u{a0}';

/// Ties units to their numbers.
fn unbroken(text: &str) -> String {
    let tie = |text: String, unit: &str| text.replace(&format!(" {unit}"), &format!("{TIE}{unit}"));
    ["Ω", "kΩ", "MΩ", "%", "min)", "s)"].into_iter().fold(text.to_owned(), tie)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_texts_are_broken_below_their_beginning() {
        let told = filled("  why: ", &"word ".repeat(40));
        assert!(told.lines().count() > 1 && told.lines().all(|line| line.chars().count() <= WIDTH), "{told}");
        assert!(told.lines().skip(1).all(|line| line.starts_with("       w")), "{told}");
        assert_eq!(filled("  why: ", "it is short"), "  why: it is short");
    }

    #[test]
    fn a_unit_stays_with_its_number() {
        let told = filled("", &format!("{} 7.49 kΩ", "x".repeat(WIDTH - 5)));
        assert!(told.ends_with("\n7.49 kΩ"), "{told}");
    }

    #[test]
    fn a_long_list_of_faults_is_counted() {
        let faults = |n: usize| (1..=n).map(|i| format!("jack/f{i}")).collect::<Vec<_>>();
        assert_eq!(few(&faults(2)), "jack/f1, jack/f2");
        assert_eq!(few(&faults(9)), "jack/f1, jack/f2, and 7 more");
    }

    #[test]
    fn long_times_are_minutes() {
        assert_eq!([duration(20.0), duration(300.0)], ["about 20 s", "about 5 min"]);
    }
}
