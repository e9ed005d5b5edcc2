//! The shop that a ticket comes from, as its own file tells it.

use serde::Deserialize;

use crate::draw::Paper;
use crate::source::{self, Located, Path, Positions, Source};
use crate::units::{Money, parse_money};

/// The version of the format of a shop's file that this program reads.
const FORMAT: u32 = 1;
/// The longest warranty: ten years.
const LONGEST: u32 = 3653;

/// The shop that a ticket comes from; an unnamed one has no letterhead.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shop {
    /// Its name; empty when it is not known.
    pub name: String,
    /// What stands below the name: the address, the telephone.
    pub lines: Vec<String>,
    /// Its sign: the bytes of a PNG or JPEG file.
    pub logo: Option<Vec<u8>>,
    /// What stands behind every price, such as `EUR`; may be empty.
    pub currency: String,
    /// The price of an hour of work.
    pub labour_per_hour: Option<Money>,
    /// For how many days the work is warranted; 0 for none.
    pub warranty_days: u32,
    /// What a customer should read.
    pub cautions: Vec<String>,
    /// The paper that tickets are printed on, unless another is named.
    pub paper: Option<Paper>,
}

/// A shop as its file tells it: the logo is named, not yet read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShopFile {
    /// The shop, without its logo.
    pub shop: Shop,
    /// The name of the logo's file, which lies beside the shop's.
    pub logo: Option<String>,
}

#[derive(Deserialize)]
struct Head {
    format: u32,
}

#[derive(Deserialize)]
#[serde(rename = "shop", deny_unknown_fields)]
struct RawShop {
    #[serde(rename = "format")]
    _format: u32,
    name: String,
    #[serde(default)]
    lines: Vec<String>,
    #[serde(default)]
    logo: Option<String>,
    #[serde(default)]
    currency: String,
    #[serde(default)]
    labour_per_hour: Option<String>,
    #[serde(default)]
    warranty_days: u32,
    #[serde(default)]
    cautions: Vec<String>,
    #[serde(default)]
    paper: Option<String>,
}

impl Shop {
    /// The text of an example to be changed; every name in it is invented.
    pub const EXAMPLE: &'static str = include_str!("../../assets/shop.ron");

    /// Reads a shop's file.
    ///
    /// # Errors
    ///
    /// Returns everything that is wrong with it, each with its place.
    pub fn read(source: &Source) -> Result<ShopFile, Vec<Located>> {
        let positions = Positions::of(source);
        if let Ok(Head { format }) = source::load::<Head>(source)
            && format != FORMAT
        {
            let message =
                format!("the shop's file is of format {format}, this program reads format {FORMAT}");
            let hint = format!("write `format: {FORMAT}` if it follows that format");
            return Err(vec![positions.error(&Path::root().then("format"), message, Some(hint))]);
        }
        let raw: RawShop = source::load(source).map_err(|error| vec![error])?;
        checked(raw, &positions)
    }
}

fn checked(raw: RawShop, positions: &Positions) -> Result<ShopFile, Vec<Located>> {
    let mut found = Vec::new();
    let mut wrong = |field: &str, message: String, hint: &str| {
        found.push(positions.error(&Path::root().then(field), message, Some(hint.to_owned())));
    };
    if raw.name.trim().is_empty() {
        wrong("name", "the name is empty".to_owned(), "write the name that is to stand on tickets");
    }
    if raw.warranty_days > LONGEST {
        let message = format!("a warranty of {} days is not allowed", raw.warranty_days);
        wrong("warranty_days", message, "write at most 3653, which is ten years");
    }
    let paper = raw.paper.as_deref().and_then(Paper::named);
    if let (Some(named), None) = (&raw.paper, paper) {
        wrong("paper", format!("there is no paper \"{named}\""), "write \"a4\", \"a3\" or \"letter\"");
    }
    let price = raw.labour_per_hour.as_deref().map(parse_money).transpose();
    let labour_per_hour = price.unwrap_or_else(|error| {
        let text = error.to_string();
        let (message, hint) =
            text.split_once("\nhint: ").unwrap_or((text.as_str(), "write a price such as \"60\""));
        wrong("labour_per_hour", message.to_owned(), hint);
        None
    });
    let RawShop { name, lines, logo, currency, warranty_days, cautions, .. } = raw;
    let shop = Shop { name, lines, logo: None, currency, labour_per_hour, warranty_days, cautions, paper };
    if found.is_empty() { Ok(ShopFile { shop, logo }) } else { Err(found) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    fn read(text: &str) -> Result<ShopFile, String> {
        Shop::read(&Source::new("shop.ron", text))
            .map_err(|all| all.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    }

    #[test]
    fn the_example_is_read_and_says_that_it_is_invented() {
        let file = read(Shop::EXAMPLE).unwrap();
        assert!(file.shop.name.contains("Invented"), "{}", file.shop.name);
        assert_eq!(file.shop.labour_per_hour, Some(Money::hundredths(6000)));
        assert_eq!((file.shop.warranty_days, file.logo), (90, None));
    }

    #[rstest]
    #[case("(format: 1,\n name: \"a\",\n nmae: \"b\")", "shop.ron:3:2: unknown field `nmae`")]
    #[case("(format: 2, name: \"a\")", "shop.ron:1:10: the shop's file is of format 2")]
    #[case("(format: 1,\n name: \" \")", "shop.ron:2:8: the name is empty")]
    #[case(
        "(format: 1, name: \"a\",\n labour_per_hour: \"dear\")",
        "shop.ron:2:19: cannot read \"dear\" as money"
    )]
    #[case("(format: 1, name: \"a\",\n paper: \"a5\")", "shop.ron:2:9: there is no paper \"a5\"")]
    #[case("(format: 1, name: \"a\",\n warranty_days: 9999)", "shop.ron:2:17: a warranty of 9999 days")]
    fn what_is_wrong_is_said_with_its_place(#[case] text: &str, #[case] says: &str) {
        let error = read(text).unwrap_err();
        assert!(error.starts_with(says), "{error}");
    }

    #[test]
    fn a_name_is_enough() {
        let file = read("(format: 1, name: \"a\")").unwrap();
        assert_eq!(file.shop, Shop { name: "a".to_owned(), ..Shop::default() });
    }
}
