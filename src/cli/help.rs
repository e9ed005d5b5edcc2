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
