//! Pictures of one person's values: what is drawn into the file that was named, and what cannot be.

use std::ops::Range;
use std::path::Path;

use anyhow::Result;

use super::claim_write::{Picture, numbered, save};
use super::run::NotAllHold;
use crate::chart::{self, PlacePicture};
use crate::report::{PlaceInput, place_picture};

/// What is asked to be drawn, and the pictures that can be.
pub(super) struct Drawing<'a> {
    file: &'a Path,
    kind: Picture,
    wanted: usize,
    pictures: Vec<PlacePicture>,
}

impl<'a> Drawing<'a> {
    /// The pictures of the first indices that are shown.
    pub fn new(input: &PlaceInput<'_>, (file, kind): (&'a Path, Picture), wanted: usize) -> Self {
        let shown = input.placed.indices.iter().filter(|index| input.shows(index)).take(wanted);
        let pictures = shown.filter_map(|index| place_picture(input.placed, index, input.labels));
        Self { file, kind, wanted, pictures: pictures.collect() }
    }

    /// That less can be drawn than is asked for, and that older pictures of those names are of somebody else.
    pub fn lacking(&self) -> Option<String> {
        let drawn = self.pictures.len();
        let why = match drawn {
            0 => "nothing is drawn, as no value may be placed".to_owned(),
            some if some < self.wanted => {
                format!("{drawn} of {} charts drawn, as the other values may not be placed", self.wanted)
            }
            _ => return None,
        };
        let earlier = earlier(self.file, drawn..self.wanted);
        Some(format!("CAUTION: --chart {}: {why}{}", self.file.display(), earlier.unwrap_or_default()))
    }

    /// Draws and writes what can be; not all is as it was asked for where something cannot.
    pub fn save(&self) -> Result<()> {
        let charts = self.pictures.iter().map(chart::draw_place).collect::<Result<Vec<_>, _>>()?;
        save(self.file, self.kind, &charts)?;
        if self.lacking().is_some() { Err(NotAllHold.into()) } else { Ok(()) }
    }
}

/// That files are there under the names of pictures that are not drawn.
fn earlier(file: &Path, not_drawn: Range<usize>) -> Option<String> {
    let there = not_drawn.map(|position| numbered(file, position)).filter(|name| name.exists());
    let there: Vec<String> = there.map(|name| name.display().to_string()).collect();
    match &*there {
        [] => None,
        [one] => Some(format!("; the {one} that is there is of an EARLIER answer, not of this one")),
        several => {
            Some(format!("; {} that are there are of an EARLIER answer, not of this one", several.join(", ")))
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn only_pictures_that_are_there_are_disowned() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("place.svg");
        assert_eq!(earlier(&file, 1..3), None);
        fs::write(&file, "drawn now").expect("written");
        assert_eq!(earlier(&file, 1..3), None);
        fs::write(folder.path().join("place-3.svg"), "of somebody else").expect("written");
        let said = earlier(&file, 1..3).expect("one is there");
        assert!(
            said.ends_with("place-3.svg that is there is of an EARLIER answer, not of this one"),
            "{said}"
        );
        let both = earlier(&file, 0..3).expect("two are there");
        assert!(
            both.ends_with("place-3.svg that are there are of an EARLIER answer, not of this one"),
            "{both}"
        );
    }
}
