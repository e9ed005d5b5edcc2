//! The shop's own file: its letterhead, its price of work, its warranty.

use std::fs;
use std::path::{Path, PathBuf};

use super::SessionError;
use super::own::{CopyError, OwnFolder, at, make_folder_of, read_text, write_new};
use crate::source::{Located, Path as Inside, Source};
use crate::ticket::{Image, Shop, ShopFile};

/// The environment variable that names another shop's file.
pub const SHOP_VARIABLE: &str = "LUGWISE_SHOP";

/// The name of the shop's file in the folder of own wirings.
pub const SHOP_FILE: &str = "shop.ron";

/// A shop's file.
#[derive(Clone, Debug)]
pub struct OwnShop {
    /// Its text, named after the file.
    pub source: Source,
    /// The shop with its logo, or everything that is wrong with the file.
    pub shop: Result<Shop, Vec<Located>>,
}

/// Where the shop's file is looked for; there need be none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ShopPlace {
    file: PathBuf,
    named: bool,
}

impl ShopPlace {
    /// Returns the place that the environment names, or the one in the usual folder of own wirings.
    pub fn usual() -> Self {
        match std::env::var_os(SHOP_VARIABLE).filter(|value| !value.is_empty()) {
            Some(file) => Self { file: PathBuf::from(file), named: true },
            None => Self::beside(&OwnFolder::usual()),
        }
    }

    /// Returns the place in a folder of own wirings.
    pub fn beside(folder: &OwnFolder) -> Self {
        Self { file: folder.path().join(SHOP_FILE), named: false }
    }

    /// Returns the file.
    pub fn file(&self) -> &Path {
        &self.file
    }

    /// Reads the file, right or wrong; `None` when there is none. One that the environment names must be there.
    pub fn read(&self) -> Option<OwnShop> {
        (self.named || self.file.exists()).then(|| OwnShop::read(&self.file))
    }

    /// Returns the shop; one without a name when there is no file.
    ///
    /// # Errors
    ///
    /// Returns everything that is wrong with the file.
    pub fn shop(&self) -> Result<Shop, SessionError> {
        self.read().map_or_else(|| Ok(Shop::default()), |own| own.shop.map_err(SessionError::Shop))
    }

    /// Writes the example, which is invented, to this file.
    ///
    /// # Errors
    ///
    /// Returns [`CopyError`] when the file exists or cannot be made.
    pub fn copy(&self) -> Result<PathBuf, CopyError> {
        make_folder_of(&self.file)?;
        OwnShop::copy(Some(&self.file))
    }

    /// Writes this text to this file, which is new.
    ///
    /// # Errors
    ///
    /// Returns [`CopyError`] when the file exists or cannot be made.
    pub fn make(&self, text: &str) -> Result<PathBuf, CopyError> {
        make_folder_of(&self.file)?;
        write_new(&self.file, text)?;
        Ok(self.file.clone())
    }
}

impl OwnShop {
    /// Returns where the shop's file is looked for.
    pub fn usual_file() -> PathBuf {
        ShopPlace::usual().file
    }

    /// Reads the usual file, right or wrong; `None` when there is none. A file that the environment names must be there.
    pub fn usual() -> Option<Self> {
        ShopPlace::usual().read()
    }

    /// Reads a file, right or wrong.
    pub fn read(path: &Path) -> Self {
        let (source, wrong) = read_text(path);
        let shop = wrong.map_or_else(|| Shop::read(&source), |wrong| Err(vec![wrong]));
        let shop = shop.and_then(|file| with_logo(path, &source, file));
        Self { source, shop }
    }

    /// Writes the example, which is invented, to a new file, where the shop's is looked for if none is named.
    ///
    /// # Errors
    ///
    /// Returns [`CopyError`] when the file exists or cannot be made.
    pub fn copy(to: Option<&Path>) -> Result<PathBuf, CopyError> {
        let path = to.map_or_else(Self::usual_file, Path::to_owned);
        if to.is_none() {
            make_folder_of(&path)?;
        }
        write_new(&path, Shop::EXAMPLE)?;
        Ok(path)
    }
}

/// Returns the shop with its logo, which lies beside its file.
fn with_logo(path: &Path, source: &Source, file: ShopFile) -> Result<Shop, Vec<Located>> {
    let Some(name) = &file.logo else { return Ok(file.shop) };
    let logo = path.parent().unwrap_or(Path::new("")).join(name);
    let wrong = |why: String| {
        let message = format!("the logo {} cannot be used: {why}", logo.display());
        let hint = "name a PNG or JPEG file beside this one, at most 5 MB and 4000 by 4000 dots".to_owned();
        vec![at(source, &Inside::root().then("logo"), message, Some(hint))]
    };
    let bytes = fs::read(&logo).map_err(|why| wrong(why.to_string()))?;
    Image::read(bytes.clone()).map_err(|why| wrong(why.to_string()))?;
    Ok(Shop { logo: Some(bytes), ..file.shop })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_is_copied_once_and_read() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(SHOP_FILE);
        OwnShop::copy(Some(&path)).unwrap();
        assert!(OwnShop::read(&path).shop.is_ok());
        assert!(matches!(OwnShop::copy(Some(&path)), Err(CopyError::Exists(_))));
    }

    #[test]
    fn a_logo_that_is_no_image_is_refused_at_its_line() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(SHOP_FILE);
        fs::write(&path, "(format: 1, name: \"a\",\n logo: \"sign.png\")").unwrap();
        let says = |part: &str| {
            let wrong = OwnShop::read(&path).shop.unwrap_err();
            assert!(wrong[0].line == 2 && wrong[0].message.contains(part), "{wrong:?}");
        };
        says("sign.png");
        fs::write(folder.path().join("sign.png"), "<svg/>").unwrap();
        says("neither a PNG nor a JPEG");
    }
}
