//! What is to be said of the files of charts, once they are drawn.

use crate::chart::{self, Chart};
use crate::notice::Notice;
use crate::study::{Format, Study};

/// Of letters that cannot be shown, as many are named.
const NAMED: usize = 8;

/// What a reader of a manuscript could not read at the width the study prints its charts.
#[must_use]
pub fn small_print_notice(study: &Study, charts: &[Chart]) -> Option<Notice> {
    let small = chart::small_print(charts, &chart::print(study))?;
    let message = format!(
        "at {} mm {} of {} charts print text of {:.1} points, and below {} points it is hard to read; from {} mm on none does",
        study.output.width_mm,
        small.charts.len(),
        charts.len(),
        small.points,
        small.least_points,
        small.width_mm
    );
    Some(Notice::caution("small_print", "charts", message))
}

/// Letters that a PNG or a PDF shows as boxes.
#[must_use]
pub fn letters_notice(study: &Study, charts: &[Chart]) -> Option<Notice> {
    let formats = &study.output.formats;
    if !formats.contains(&Format::Png) && !formats.contains(&Format::Pdf) {
        return None;
    }
    let letters = chart::letters_without_sign(charts);
    let named: Vec<String> = letters.iter().take(NAMED).map(char::to_string).collect();
    let more = if letters.len() > NAMED { " …" } else { "" };
    let message = format!(
        "the font of PNG and PDF files has no sign for {}{more}, and a box stands in its place; SVG files and the page show it \
         where the reader has a font with it",
        named.join(", ")
    );
    (!letters.is_empty()).then(|| Notice::caution("letters_without_sign", "charts", message))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{Labels, Print, draw_all};
    use crate::study;
    use crate::table::{Table, schema};

    #[test]
    fn boxes_in_place_of_letters_are_told_where_a_file_has_them() {
        let mut table = Table::new(schema::shape("percentiles").expect("a table"));
        let row = table.row().text("index", "homa_ir").text("population", "cohort");
        let row = row.text("grouping", "sex").text("group", "女性");
        row.real("percentile", Some(50.0)).real("value", Some(2.0)).done().expect("a row");
        let charts = draw_all(&[table], &Labels::default(), &Print::default()).expect("charts");
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
        let mut study = study::load(&root.join("demo.toml")).expect("a study");
        study.output.formats = vec![Format::Svg, Format::Png];
        let said = letters_notice(&study, &charts).map(|notice| notice.message);
        assert!(said.as_ref().is_some_and(|said| said.contains("no sign for 女, 性, and a box")), "{said:?}");
        assert!(letters_notice(&study, &[]).is_none());
        study.output.formats = vec![Format::Svg];
        assert!(letters_notice(&study, &charts).is_none());
    }
}
