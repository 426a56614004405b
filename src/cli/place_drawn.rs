//! Pictures of one person's values: what is drawn into the file that was named, and what cannot be.

use std::path::Path;

use anyhow::Result;

use super::claim_write::{Picture, save};
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

    /// That less can be drawn than is asked for, and that an older picture of that name is of somebody else.
    pub fn lacking(&self) -> Option<String> {
        let file = self.file.display();
        match self.pictures.len() {
            0 => {
                let earlier = format!("; the {file} that is there is of an EARLIER answer, not of this one");
                let earlier = if self.file.exists() { earlier } else { String::new() };
                Some(format!("CAUTION: --chart {file}: nothing is drawn, as no value may be placed{earlier}"))
            }
            drawn if drawn < self.wanted => Some(format!(
                "CAUTION: --chart {file}: {drawn} of {} charts drawn, as the other values may not be placed; pictures of those \
                 that are there are of an EARLIER answer",
                self.wanted
            )),
            _ => None,
        }
    }

    /// Draws and writes what can be; not all is as it was asked for where something cannot.
    pub fn save(&self) -> Result<()> {
        let charts = self.pictures.iter().map(chart::draw_place).collect::<Result<Vec<_>, _>>()?;
        save(self.file, self.kind, &charts)?;
        if self.lacking().is_some() { Err(NotAllHold.into()) } else { Ok(()) }
    }
}
