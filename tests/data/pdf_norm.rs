//! What PDF/UA-1 asks of a file's structure, as far as it can be seen in the objects that `qpdf --json` tells.
//!
//! The clauses of ISO 14289-1:2014 are named from memory.

use serde_json::{Map, Value};

/// The objects of a PDF file.
pub struct Parts(Map<String, Value>);

/// Those structure types of ISO 32000-1, 14.8.4, that our files may use without mapping them.
const STANDARD: [&str; 24] = [
    "Document", "Part", "Sect", "Div", "Caption", "P", "H1", "H2", "H3", "H4", "H5", "H6", "L", "LI", "Lbl",
    "LBody", "Table", "TR", "TH", "TD", "THead", "TBody", "Span", "Figure",
];

impl Parts {
    /// Reads what `qpdf --json=2` said.
    pub fn read(said: &str) -> Self {
        let said: Value = serde_json::from_str(said).unwrap();
        Self(said["qpdf"][1].as_object().unwrap().clone())
    }

    /// Returns what a value is; what it refers to, if it refers to an object.
    fn at<'a>(&'a self, value: &'a Value) -> &'a Value {
        let refers = |words: &&str| words.ends_with(" R") && words.starts_with(|c: char| c.is_ascii_digit());
        let Some(words) = value.as_str().filter(refers) else { return value };
        let object = &self.0[&format!("obj:{words}")];
        object.get("value").unwrap_or(&object["stream"]["dict"])
    }

    fn list<'a>(&'a self, value: &'a Value) -> Vec<&'a Value> {
        match self.at(value) {
            Value::Array(all) => all.iter().map(|one| self.at(one)).collect(),
            Value::Null => Vec::new(),
            one => vec![one],
        }
    }

    fn root(&self) -> &Value {
        self.at(&self.0["trailer"]["value"]["/Root"])
    }

    /// Returns every object that is a dictionary of this type.
    fn typed<'a>(&'a self, kind: &'a str) -> impl Iterator<Item = &'a Value> {
        self.0.values().filter_map(|object| object.get("value")).filter(move |value| value["/Type"] == kind)
    }

    /// Returns the elements below one, in reading order.
    fn below<'a>(&'a self, element: &'a Value) -> Vec<&'a Value> {
        let kids = self.list(&element["/K"]).into_iter().filter(|kid| kid.get("/S").is_some());
        kids.flat_map(|kid| std::iter::once(kid).chain(self.below(kid))).collect()
    }

    /// Returns every element of the structure, in reading order.
    pub fn elements(&self) -> Vec<&Value> {
        self.below(self.at(&self.root()["/StructTreeRoot"]))
    }

    /// Returns what an element is, such as `TH`.
    pub fn kind<'a>(&self, element: &'a Value) -> &'a str {
        element["/S"].as_str().unwrap_or_default().trim_start_matches('/')
    }

    /// Returns the words of the contents, in order.
    pub fn contents(&self) -> Vec<String> {
        let mut all = Vec::new();
        self.entries(&self.at(&self.root()["/Outlines"])["/First"], &mut all);
        all
    }

    fn entries(&self, first: &Value, all: &mut Vec<String>) {
        let mut next = self.at(first);
        while next.is_object() {
            all.push(words(&next["/Title"]));
            assert!(next.get("/Dest").is_some(), "7.17: an entry of the contents leads nowhere: {next}");
            self.entries(&next["/First"], all);
            next = self.at(&next["/Next"]);
        }
    }

    fn scope(&self, element: &Value) -> bool {
        self.list(&element["/A"]).into_iter().any(|attributes| attributes.get("/Scope").is_some())
    }

    /// Tells each clause that the file breaks; `bytes` is the file itself.
    pub fn breaches(&self, bytes: &[u8]) -> Vec<String> {
        let (root, file) = (self.root(), String::from_utf8_lossy(bytes));
        let title = file.split("<dc:title>").nth(1).and_then(|rest| rest.split("</dc:title>").next());
        let whole = [
            ("5: it does not say that it keeps PDF/UA-1", file.contains("<pdfuaid:part>1</pdfuaid:part>")),
            ("7.1: it is not marked as tagged", self.at(&root["/MarkInfo"])["/Marked"] == true),
            ("7.1: its tags are suspect", self.at(&root["/MarkInfo"])["/Suspects"] != true),
            ("7.1: no title is told", title.is_some_and(|title| title.contains("</rdf:li>"))),
            ("7.1: its title is not shown", self.at(&root["/ViewerPreferences"])["/DisplayDocTitle"] == true),
            ("7.2: no language is told", !words(&root["/Lang"]).is_empty()),
            ("7.17: there are no contents", !self.contents().is_empty()),
            ("7.18.3: a page is not gone through in reading order", self.pages_in_order()),
            ("7.21: a font is not in it, or its letters cannot be told", self.fonts_whole()),
        ];
        let broken = whole.into_iter().filter(|(_, kept)| !kept).map(|(clause, _)| clause.to_owned());
        broken
            .chain(self.broken_elements())
            .chain(self.broken_headings())
            .chain(self.broken_tables())
            .collect()
    }

    fn pages_in_order(&self) -> bool {
        self.typed("/Page").count() > 0 && self.typed("/Page").all(|page| page["/Tabs"] == "/S")
    }

    fn fonts_whole(&self) -> bool {
        let told: Vec<&Value> = self.typed("/Font").filter(|font| font["/Subtype"] == "/Type0").collect();
        let inside = |descriptor: &Value| {
            ["/FontFile", "/FontFile2", "/FontFile3"].iter().any(|key| descriptor.get(*key).is_some())
        };
        !told.is_empty()
            && told.iter().all(|font| font.get("/ToUnicode").is_some())
            && self.typed("/FontDescriptor").all(inside)
    }

    fn broken_elements(&self) -> Vec<String> {
        let mapped = self.at(&self.at(&self.root()["/StructTreeRoot"])["/RoleMap"]);
        let wrong = |element: &&Value| {
            let kind = self.kind(element);
            if !STANDARD.contains(&kind) && mapped.get(format!("/{kind}")).is_none() {
                return Some(format!("7.1: the role {kind} is not standard"));
            }
            if kind == "Figure" && words(&element["/Alt"]).trim().is_empty() {
                return Some("7.3: a figure is not told in words".to_owned());
            }
            (kind == "TH" && !self.scope(element)).then(|| "7.5: a header has no scope".to_owned())
        };
        self.elements().iter().filter_map(wrong).collect()
    }

    fn broken_headings(&self) -> Vec<String> {
        let level = |element: &&Value| self.kind(element).strip_prefix('H')?.parse::<usize>().ok();
        let levels: Vec<usize> = self.elements().iter().filter_map(level).collect();
        let mut broken = Vec::new();
        if levels.first().is_some_and(|first| *first != 1) {
            broken.push("7.4.2: the first heading is not of level 1".to_owned());
        }
        let skips = levels.windows(2).filter(|two| two[1] > two[0] + 1);
        broken.extend(skips.map(|two| format!("7.4.2: {} is followed by {}", two[0], two[1])));
        broken
    }

    fn broken_tables(&self) -> Vec<String> {
        let tables = self.elements().into_iter().filter(|element| self.kind(element) == "Table");
        let ragged = |table: &Value| {
            let rows = self.below(table).into_iter().filter(|element| self.kind(element) == "TR");
            let mut wide: Vec<usize> = rows.map(|row| self.list(&row["/K"]).len()).collect();
            wide.dedup();
            let heads = self.below(table).into_iter().filter(|element| self.kind(element) == "TH").count();
            (wide.len() != 1 || heads == 0)
                .then(|| format!("7.5: a table has rows of {wide:?}, {heads} heads"))
        };
        tables.filter_map(ragged).collect()
    }
}

/// Returns a string as it is read: `qpdf` begins one in Unicode with `u:`.
fn words(value: &Value) -> String {
    value.as_str().map_or("", |text| text.strip_prefix("u:").unwrap_or(text)).to_owned()
}
