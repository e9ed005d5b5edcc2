//! How the page looks: light and dark on the screen, always light on paper.

use crate::draw::{Palette, theme_css};

const SHEET: &str = "\
body { margin: 0; background: var(--paper); color: var(--label); font: 16px/1.5 sans-serif; }
main { max-width: 62rem; margin: 0 auto; padding: 1.5rem; }
h1 { font-size: 1.7rem; line-height: 1.2; overflow-wrap: anywhere; }
h2 { font-size: 1.2rem; margin: 1.8rem 0 0.5rem; border-bottom: 1px solid var(--part); break-after: avoid; }
p, dd, blockquote, li { overflow-wrap: anywhere; }
td, tbody th { overflow-wrap: break-word; max-width: 24rem; }
blockquote { margin: 0; padding: 0.5rem 1rem; border-left: 4px solid var(--part); font-size: 1.1rem; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: 0.2rem 1.2rem; margin: 0; }
dt { font-weight: bold; }
dd { margin: 0; }
.outcome { font-size: 1.15rem; padding: 0.5rem 1rem; border: 2px solid var(--part); border-radius: 6px; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: 0.92rem; }
th, td { text-align: left; vertical-align: top; padding: 0.35rem 0.6rem; border: 1px solid var(--hatch); }
thead th { background: var(--part-fill); }
tbody th { font-weight: normal; }
tr, figure { break-inside: avoid; }
figure { margin: 0; }
figure svg { width: 100%; height: auto; border: 1px solid var(--hatch); }
.bar { vertical-align: middle; }
.bar .rail { fill: var(--part-fill); stroke: var(--part); stroke-width: 1; }
.bar .fill { fill: var(--suspect); }
@media print { body { font-size: 11pt; } main { max-width: none; padding: 0; } .wide { overflow: visible; } }
";

/// Returns the style sheet of the page.
pub(super) fn css() -> String {
    let (light, dark) = (theme_css(&Palette::Light), theme_css(&Palette::Dark));
    format!(
        ":root {{ {light} }}\n@media screen and (prefers-color-scheme: dark) {{ :root {{ {dark} }} }}\n{SHEET}"
    )
}
