//! What the longer commands print, as their help tells it.

pub(super) const PRIORS: &str = "\
JSON: {\"file\", \"families\": [{\"family\", \"words\", \"per_thousand\", \"source\", \"own\"}],
  \"histories\": [{\"history\", \"makes\": [{\"kinds\", \"times\", \"source\"}], \"own\"}]}; file: that of your own priors, or null;
  with --copy {\"file\"}; a file is never written over
Your own priors are in the file that LUGWISE_PRIORS names, or in priors.ron in the folder of your own wirings.";
pub(super) const PREDICT: &str = "\
JSON: {\"ohms\", \"low\", \"high\", \"over_range\", \"beep\", \"unit\", \"answer\", \"from\", \"to\"}; low and high hold 95 readings of
  100; a value that is over range is null; beep is null unless the mode is continuity, and when the meter decides
  either way. unit: that of ohms, low and high, whose key keeps its name in every mode, null for an observation;
  answer: what is said to one; from and to are what a swept knob reads at 0 and
  at 10, each {\"ohms\", \"low\", \"high\", \"over_range\"}, and null in every other mode.
A fault that comes and goes is predicted at the moment when it shows; a fault of unknown size over all its sizes.";
pub(super) const COIL: &str = "\
JSON: {\"ohms_at_20\", \"expected\": {\"celsius\", \"ohms\"}, \"types\": [{\"name\", \"says\", \"low\", \"high\"}],
  \"wire\": {\"gauge\", \"metres\", \"low\", \"high\", \"millimetres\", \"ohms_per_metre\"}}; what was not asked for is null
  types: the pickups that such a coil may be, with their usual ohms; low and high of the wire: its length when it is
  drawn as thin or as thick as wire of its gauge may be.
Measure a coil with one of its ends lifted, or the pots beside it are measured too.";
pub(super) const TREE: &str = "\
JSON: that of each command below; `lugwise tree COMMAND --help` tells it
TREE is the name of a tree that comes with the program or of one of your own, or any tree file. Your own trees are in the
folder that LUGWISE_TREES names, or in the folder `trees` beside that of your own wirings; one with the name of a tree of
the program takes its place.";
pub(super) const TREE_LIST: &str = "\
JSON: {\"trees\": [{\"name\", \"title\", \"complaint\", \"only\", \"named\", \"elsewhere\", \"steps\", \"own\", \"replaces\", \"file\", \"wirings\"}], \"folder\",
  \"problems\": [{\"message\", \"hint\", \"file\", \"line\", \"column\"}]}
  only: what a guitar must have; named: the wirings that it names; wirings: the codes of those it is for; problems: what is wrong with your own files";
pub(super) const TREE_SHOW: &str = "\
JSON: {\"file\", \"bytes\"}, of a PDF file also \"missing_letters\"; without a file {\"text\"} or {\"svg\"}; with --past also
  \"past\": {\"tree\", \"n\", \"proven\", \"small\", \"steps\": {step: {\"n\", \"small\", \"ways\": [{\"n\", \"proven\"}]}}}
  n: jobs; proven: those of them that were closed proven; small: n is under ten; ways: in the order of the step, the
  last is that it cannot be done
A file is never written over.";
pub(super) const TREE_CHECK: &str = "\
JSON: {\"passes\", \"trees\": [{\"file\", \"tree\", \"passes\",
  \"findings\": [{\"flaw\", \"fails\", \"line\", \"column\", \"step\", \"wirings\", \"says\", \"hint\"}],
  \"figures\": [{\"wiring\", \"faults\", \"covered\", \"detected\", \"isolated_to_one\", \"isolated_to_two\", \"steps\", \"minutes\",
  \"advisor_steps\", \"advisor_minutes\", \"ratio\", \"bound_steps\"}], \"not_for\": [{\"wiring\", \"why\"}], \"shares\",
  \"played\": [{\"wiring\", \"jobs\", \"found\", \"found_alone\", \"minutes\", \"advisor_minutes\", \"ratio\"}], \"judged\"}], \"table\"}
  judged: how a tree that is slow by estimates was judged, or null
  shares: of the faults behind the complaint, how many go each way of a step; ratio: minutes over the advisor's, or null
  FD: share of faults detected; FI(n): share isolated to a group of n; bound: steps that no way of working falls below
Exit code 1 when a tree does not pass, or is for none of the wirings. How far it has come is told on standard error.";
pub(super) const TREE_GROW: &str = "\
JSON: {\"tree\", \"file\", \"bytes\", \"check\"}; tree: the file's text; check: one of the trees of `tree check`; bytes: with -o
  only; what its own check says is told on standard error; a file is never written over";
pub(super) const TREE_COPY: &str = "JSON: {\"file\", \"name\"}; a file is never written over";
pub(super) const TREE_USE: &str =
    "JSON: the state of the job, as at `next`; `lugwise undo` goes back to the tree before";
pub(super) const WIRINGS: &str = "\
JSON: [{\"name\", \"title\", \"code\", \"about\", \"own\", \"file\", \"pickups\", \"knobs\", \"switches\", \"battery\", \"problems\", \"tells\"}]
  own: one of your own files; its name, title and code are null when it is wrong, and problems says why
  switches: the number of positions of each; tells: what tells it from those it was listed with, [{\"what\", \"shows\"}]
Your own wirings are in the folder that LUGWISE_WIRINGS names, or in the usual one of your system.";
pub(super) const COPY: &str = "JSON: {\"file\", \"name\", \"code\"}; a file is never written over";
pub(super) const CHECK: &str = "JSON: [{\"file\", \"ok\", \"says\", \"notes\", \"problems\": [{\"message\", \"hint\", \"file\", \"line\", \"column\"}]}]";
pub(super) const FAULTS: &str = "JSON: [{\"id\", \"sentence\", \"prior\", \"group\", \"source\", \"repair\", \"minutes\"}]; prior: probability before\n\
     anything is known, source: where it comes from; no reading tells faults with the same group apart";
pub(super) const AUDIT: &str = "\
JSON: {\"checks\": [{\"number\", \"red\", \"black\", \"mode\", \"settings\", \"moved\", \"healthy\", \"low\", \"high\", \"over_range\", \"covers\", \"adds\",
  \"example\", \"faults\"}], \"at_least\", \"proven\", \"considered\", \"covered\", \"total\", \"kinds\": [{\"kind\", \"covered\", \"total\"}],
  \"flexed\": [{\"check\", \"flex\", \"say\", \"faults\"}], \"flex_covered\", \"flex_total\", \"missed\": [{\"fault\", \"sentence\", \"why\"}],
  \"minutes\"}; with -o also \"file\" and \"bytes\"";
pub(super) const NETLIST: &str = "JSON: {\"deck\"}; run it with: ngspice -b FILE";
pub(super) const PICTURE: &str = "JSON: {\"file\", \"bytes\"}; without a file {\"svg\"}";
pub(super) const RESPONSE: &str = "\
JSON: {\"wiring\", \"fault\", \"settings\", \"cable\", \"input\", \"points\": [{\"hertz\", \"healthy\", \"faulty\"}],
  \"peak\": {\"healthy\": {\"hertz\", \"decibels\"}, \"faulty\"}, \"level\", \"treble\", \"sentence\", \"file\"}
  decibels beside one volt in every coil that sounds; level (250 Hz) and treble (3 kHz): how much louder the fault is
  than healthy; what does not apply is null. Of a fault of unknown size the middle one is told.";
pub(super) const TRIAL: &str = "\
JSON: {\"setup\", \"plot\", \"wirings\": [a report], \"all\": a report}
  a report: {\"wiring\", \"bound\": {\"bits\", \"outcomes\", \"readings\", \"minutes\"}, \"singles\", \"healthy\", \"drawn\", \"pairs\", \"outside\":
  numbers or null,
  \"verdicts\", \"suspects\": [{\"from\", \"to\", \"count\", \"announced\", \"held\", \"held_by_prior\"}], \"misses\": [a case]}
  numbers: {\"cases\", \"isolated\", \"share\", \"wrong\", \"guesses\", \"group\", \"readings\", \"readings_90\", \"minutes\", \"histogram\",
  \"slips\", \"by_tree\", \"acquitted\", \"flagged\", \"contradicted\", \"flagged_in_time\",
  \"flagged_after\", \"pairs\": [both, one and cured, one, none]}
  a case: {\"kind\", \"truth\", \"concluded\", \"probability\", \"sure\", \"found\", \"pair\", \"flagged_after\", \"contradicting\",
  \"readings\", \"by_tree\", \"minutes\", \"slips\"}
With --jobs: {\"archive\", \"jobs\", \"events\", \"pool\", \"seed\"}
The same seed gives the same report, with any number of threads. How far it has come is told on standard error.";
pub(super) const STATE: &str = "\
JSON: {\"stage\": \"finding\"|\"repairing\"|\"proving\"|\"closed\", \"done\",
  \"suspects\": [{\"probability\", \"faults\", \"sentence\"}], \"others\",
  \"tone\": {\"suspect\", \"setting\", \"level\", \"treble\", \"sentence\"},
  \"speaker\": \"tree\"|\"advisor\", \"reading\": a step, \"alternatives\": [steps],
  \"question\": {\"text\", \"answers\"}, \"verdict\": {\"faults\", \"repair\", \"minutes\", \"sentence\", \"probability\", \"inspect\", \"sure\"},
  \"masked\": [{\"sentence\", \"faults\"}], \"rounds\": [{\"sentence\", \"repaired\", \"remains\"}],
  \"readings\": [{\"id\", \"sentence\", \"typed\", \"found\", \"healthy\", \"fits_healthy\", \"withdrawn\", \"surprising\"}],
  \"cautions\": [{\"key\", \"text\"}], \"proof\": [{\"sentence\", \"healthy\", \"found\", \"passed\"}], \"doubt\": {\"action\", \"sentence\"},
  \"paper\": {\"estimate\", \"authorised\", \"bill\", \"photos\", \"warranty\"}, \"understood\", \"notices\", \"minutes\"}
  reading: the reading that `record` takes when nothing else is said; when a question is asked, the one that comes next
  if the question is passed over; null when done
  masked: what the verdict's fault hides from every reading so far; rounds: what was named and repaired before `search-on`
  a step: {\"red\", \"black\", \"mode\", \"settings\", \"place\", \"seconds\", \"bits\", \"flex\", \"about\", \"lifted\", \"headline\", \"dial\", \"script\", \"why\", \"healthy\",
  \"predictions\": [{\"sentence\", \"probability\", \"text\"}]}; what does not apply is null";
pub(super) const TICKET: &str = "JSON: {\"file\", \"bytes\"}";
