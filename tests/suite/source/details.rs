//! Tables with a column map, where two things meet: files in other orders, limits of several heights, forms of text.

use std::fs;
use std::path::{Path, PathBuf};

use cutspan::source::{Loaded, read};
use cutspan::study::{Study, TableSource};

use super::tables::{COHORT, cohort, cohort_with_lipids, mapped, read_texts, refused, study_in};
use super::{numbers, texts, yes_no};

pub(super) fn notices<'a>(loaded: &'a Loaded, kind: &str) -> Vec<&'a str> {
    loaded.notices.iter().filter(|n| n.kind == kind).map(|n| n.message.as_str()).collect()
}

/// The same table with people who may not be shown.
pub(super) fn private(source: &TableSource, text: &str) -> Loaded {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("cohort.csv"), text).unwrap();
    let study = Study { public: false, ..study_in(folder.path(), source) };
    read(&study, &study.sources[0], &[]).unwrap()
}

/// hand: 40 / √2 = 28.284271 and 12 / √2 = 8.485281 pmol/L
#[test]
fn limits_of_several_heights_count_as_the_highest_and_have_no_one_fill() {
    let text = COHORT.replacen("69.45", "<40", 1).replacen("138.9", "<12", 1);
    let mut source = cohort();
    source.columns[1].below_detection = Some("<".to_owned());
    let loaded = read_texts(&source, &[("cohort.csv", &text)]).unwrap();
    let filled = numbers(&loaded, "insulin_reported_pmol_l");
    assert!((filled.get(0).unwrap() - 28.284_271).abs() < 1e-6, "{filled:?}");
    assert!((filled.get(1).unwrap() - 8.485_281).abs() < 1e-6, "{filled:?}");
    let limits: Vec<_> = loaded.detection.iter().map(|limit| (limit.limit, limit.fill)).collect();
    assert_eq!(limits, [(40.0, None)]);
    let said = notices(&loaded, "below_detection");
    assert!(
        said.len() == 1
            && said[0].contains("2 of 2 values (100.0 %) are given as below limits up to 40 pmol/L"),
        "{said:?}"
    );
    let unshown = private(&source, &text);
    let said = notices(&unshown, "below_detection");
    assert!(said.len() == 1 && said[0].contains("some values are given"), "{said:?}");
    // A limit is no measured value, however low.
    let low = read_texts(&source, &[("cohort.csv", &COHORT.replacen("138.9", "<8", 1))]).unwrap();
    assert!(notices(&low, "unusual_values").is_empty(), "{:?}", low.notices);
    let high = COHORT.replacen("138.9", "<8", 1).replacen("69.45", "1500", 1);
    let high = read_texts(&source, &[("cohort.csv", &high)]).unwrap();
    let said = notices(&high, "unusual_values");
    assert!(
        said.len() == 1 && said[0].contains("1 value lies") && said[0].contains("1500, line 2"),
        "{said:?}"
    );
    let zero = refused(&source, &[("cohort.csv", &COHORT.replacen("138.9", "<0", 1))]);
    assert!(zero.contains("`<0`") && zero.contains("line 3"), "{zero}");
}

/// A study of two indices in ten people, so many of whom have an insulin below 12 pmol/L.
fn with_low_insulin(low: usize, keys: &str) -> Result<Loaded, String> {
    let folder = tempfile::tempdir().unwrap();
    let insulin = |person: usize| if person < low { "<12".to_owned() } else { (60 + person).to_string() };
    let rows = (0..10).map(|person| format!("{person},5.5,{},1.2\n", insulin(person)));
    let table = format!("id,g,i,t\n{}", rows.collect::<String>());
    fs::write(folder.path().join("low.csv"), table).unwrap();
    let text = format!(
        "title = \"t\"\n{keys}\n[[source]]\nsurvey = \"table\"\nname = \"low\"\nfiles = [\"low.csv\"]\nid = \"id\"\n\
         [source.columns]\nglucose = {{ column = \"g\", unit = \"mmol/L\" }}\ntriglycerides = {{ column = \"t\", unit = \
         \"mmol/L\" }}\ninsulin = {{ column = \"i\", unit = \"pmol/L\", factor = 6.00, below_detection = \"<\" }}\n\
         [analysis]\nindices = [\"homa_ir\", \"tyg\"]\n"
    );
    let study = cutspan::study::parse(&text, "s.toml", folder.path()).unwrap();
    read(&study, &study.sources[0], &[]).map_err(|error| error.to_string())
}

#[test]
fn an_index_is_not_made_of_a_column_that_is_mostly_below_detection() {
    for (low, share) in [(10, "all values are below"), (6, "more than half of the values are below")] {
        let error = with_low_insulin(low, "").expect_err("nothing was measured in most");
        assert!(error.contains(share) && error.contains("cutoff of homa_ir can"), "{error}");
        assert!(!error.contains("tyg"), "{error}");
    }
    let half = with_low_insulin(5, "").unwrap();
    let said = notices(&half, "below_detection");
    assert!(
        said[0].contains("5 of 10 values (50.0 %)") && said[0].contains("percentiles up to P50"),
        "{said:?}"
    );
    // Where counts of fewer than 10 may not be shown, five of ten are some.
    let hidden = with_low_insulin(5, "public = false").unwrap();
    let said = notices(&hidden, "below_detection");
    assert!(said[0].contains("some values are given") && !said[0].contains('%'), "{said:?}");
}

#[test]
fn a_column_in_which_nobody_has_a_value_is_told() {
    let mut source = cohort();
    source.columns.push(mapped("bmi", "bmi", Some("kg/m²"), &[]));
    let empty = COHORT.replace("psu\n", "psu,bmi\n").replace("p1\n", "p1,\n").replace("p2\n", "p2,\n");
    let loaded = read_texts(&source, &[("cohort.csv", &empty)]).unwrap();
    let said = notices(&loaded, "column_empty");
    assert!(
        said.len() == 1 && said[0].contains("bmi from column `bmi`: nobody has a value, because it is empty"),
        "{said:?}"
    );
    let mut source = cohort();
    source.columns[3].missing = vec!["2".to_owned(), "1.0".to_owned()];
    let loaded = read_texts(&source, &[("cohort.csv", COHORT)]).unwrap();
    let said = notices(&loaded, "column_empty");
    assert!(said.len() == 1 && said[0].contains("such as `2`, is listed under `missing`"), "{said:?}");
}

#[test]
fn a_column_in_which_hardly_anybody_has_a_value_is_told_with_their_number_where_it_may_be() {
    let table = |filled: usize| {
        let row = |n: usize| format!("{n},5.5,{}\n", if n < filled { "60" } else { "" });
        format!("id,fpg,ins\n{}", (0..360).map(row).collect::<String>())
    };
    let said = |filled: usize, key: &str| {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("t.csv"), table(filled)).unwrap();
        let text = format!(
            "title = \"t\"\n{key}\n[[source]]\nsurvey = \"table\"\nname = \"t\"\nfiles = [\"t.csv\"]\nid = \"id\"\n\
             [source.columns]\nglucose = {{ column = \"fpg\", unit = \"mmol/L\" }}\n\
             insulin = {{ column = \"ins\", unit = \"pmol/L\", factor = 6.0 }}\n[analysis]\nindices = [\"homa_ir\"]\n"
        );
        let study = cutspan::study::parse(&text, "t.toml", folder.path()).unwrap();
        let loaded = read(&study, &study.sources[0], &[]).unwrap();
        notices(&loaded, "column_nearly_empty").into_iter().map(str::to_owned).collect::<Vec<_>>()
    };
    assert!(said(9, "")[0].contains("only 9 of 360 people have a value"), "{:?}", said(9, ""));
    assert_eq!(said(9, "").len(), 1);
    assert_eq!(said(180, ""), [""; 0]);
    let hidden = "public = false";
    assert!(said(9, hidden)[0].contains("hardly anybody has a value"), "{:?}", said(9, hidden));
    assert_eq!(said(3, hidden), said(9, hidden), "nothing tells three from nine");
    assert!(said(17, hidden)[0].contains("only about 5 % of the people"), "{:?}", said(17, hidden));
}

#[test]
fn words_for_yes_and_no_need_no_codes_and_other_texts_do() {
    let mut source = cohort();
    source.columns[3].codes.clear();
    let told = COHORT.replacen(",1,2,\"", ",1,Nein,\"", 1).replacen(",2,1.0,", ",2,ja,", 1);
    let loaded = read_texts(&source, &[("cohort.csv", &told)]).unwrap();
    assert_eq!(yes_no(&loaded, "pregnant").iter().collect::<Vec<_>>(), [Some(false), Some(true), None]);
    let error = refused(&source, &[("cohort.csv", &told.replace("ja", "vielleicht"))]);
    assert!(error.contains("`vielleicht`") && error.contains("missing = [\"vielleicht\"]"), "{error}");
}

#[test]
fn a_table_is_found_in_a_folder_of_data_when_it_is_not_where_the_study_names_it() {
    let (own, data) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut source = cohort();
    source.files = vec![PathBuf::from("clinic/cohort.csv")];
    let study = study_in(own.path(), &source);
    let folders = [data.path().to_path_buf()];
    let error = read(&study, &study.sources[0], &folders).unwrap_err().to_string();
    assert!(error.contains("clinic/cohort.csv: cannot be read") && error.contains("--data"), "{error}");
    fs::write(data.path().join("cohort.csv"), COHORT).unwrap();
    assert_eq!(read(&study, &study.sources[0], &folders).unwrap().frame.height(), 3, "by its bare name");
    // A table where the study names it is taken first.
    fs::create_dir(own.path().join("clinic")).unwrap();
    let two: Vec<&str> = COHORT.lines().take(3).collect();
    fs::write(own.path().join("clinic/cohort.csv"), two.join("\n")).unwrap();
    assert_eq!(read(&study, &study.sources[0], &folders).unwrap().frame.height(), 2);
}

#[test]
fn marks_of_the_table_itself_stand() {
    let mut source = cohort();
    source.columns[1].below_detection = Some("<".to_owned());
    source.columns.push(mapped("insulin_below_detection", "mark", None, &[("0", "no"), ("1", "yes")]));
    let text = COHORT.replacen("138.9", "<12", 1).replace("psu\n", "psu,mark\n");
    let text = text.replace("p1\n", "p1,1\n").replace("p2\n", "p2,0\n");
    let loaded = read_texts(&source, &[("cohort.csv", &text)]).unwrap();
    let marks: Vec<_> = yes_no(&loaded, "insulin_below_detection").iter().collect();
    assert_eq!(marks, [Some(true), Some(false), Some(true)]);
}

#[test]
fn only_limits_that_are_read_as_missing_are_said_to_drop_out() {
    let plain = read_texts(&cohort(), &[("cohort.csv", COHORT)]).unwrap();
    assert!(notices(&plain, "low_values_missing").is_empty(), "NA is no limit: {:?}", plain.notices);
    let mut source = cohort();
    source.columns[1].missing = vec!["<12".to_owned()];
    let without = read_texts(&source, &[("cohort.csv", COHORT)]).unwrap();
    assert!(notices(&without, "low_values_missing").is_empty(), "no cell says <12: {:?}", without.notices);
}

/// A second file in another order, with insulin and sex in it.
const SECOND: &str = "id,hdl,sex2,ins2\nc,50,1,<12\na,60,2,69.45\nb,45,2,138.9\n";

#[test]
fn a_second_file_in_another_order_keeps_its_cells_and_its_lines() {
    let mut source = cohort_with_lipids();
    source.columns[1].below_detection = Some("<".to_owned());
    "ins2".clone_into(&mut source.columns[1].column);
    "sex2".clone_into(&mut source.columns[2].column);
    let files = |second: &str| [("cohort.csv", COHORT.to_owned()), ("lipids.csv", second.to_owned())];
    let read = |second: &str| {
        let files = files(second);
        read_texts(&source, &files.each_ref().map(|(name, text)| (*name, text.as_str())))
    };
    let loaded = read(SECOND).unwrap();
    assert_eq!(texts(&loaded, "sex").iter().flatten().collect::<Vec<_>>(), ["female", "female", "male"]);
    assert_eq!(
        numbers(&loaded, "hdl_mg_dl").iter().collect::<Vec<_>>(),
        [Some(60.0), Some(45.0), Some(50.0)]
    );
    let marks: Vec<_> = yes_no(&loaded, "insulin_below_detection").iter().collect();
    assert_eq!(marks, [Some(false), Some(false), Some(true)]);
    let impossible = read(&SECOND.replace("c,50", "c,9999")).unwrap_err().to_string();
    assert!(impossible.contains("lipids.csv") && impossible.contains("line 2"), "{impossible}");
    let unusual = read(&SECOND.replace("c,50", "c,180")).unwrap();
    let said = notices(&unusual, "unusual_values");
    assert!(said.len() == 1 && said[0].contains("180, line 2"), "{said:?}");
}

#[test]
fn ids_that_stand_several_times_are_told_together() {
    let text = COHORT.replace("\nb,", "\na,").replace("\nc,", "\na,");
    let error = refused(&cohort(), &[("cohort.csv", &text)]);
    for part in ["in 2 rows `a` (line 3), `a` (line 4)", "each id once", "an earlier row"] {
        assert!(error.contains(part), "{part}: {error}");
    }
}

/// hand: 18 pmol/L is 2.59 µU/mL, 3.9 times below the plausible 10; as µU/mL it would be 1.8 times above, which is not
/// four times as near on the logarithm.
#[test]
fn a_unit_is_doubted_only_where_another_explains_the_numbers_far_better() {
    let text = COHORT.replacen("69.45", "16", 1).replacen("138.9", "18", 1);
    let loaded = read_texts(&cohort(), &[("cohort.csv", &text)]).unwrap();
    assert!(notices(&loaded, "unit_doubtful").is_empty(), "{:?}", loaded.notices);
    let mut source = cohort();
    let insulin = &mut source.columns[1];
    (insulin.unit, insulin.factor, insulin.unit_checked) = (Some("uU/mL".to_owned()), None, true);
    let unshown = private(&source, &COHORT.replace("138.9", "70"));
    let said = notices(&unshown, "unit_doubtful");
    assert!(said[0].contains("the median is unlikely in the declared unit"), "of few people: {said:?}");
    let mut source = cohort();
    source.columns[0].unit = None;
    let error = refused(&source, &[("cohort.csv", COHORT)]);
    assert!(error.contains("found no unit, expected one of the units mg/dL, mmol/L"), "{error}");
}

/// hand: 27 mmol/L is 486 mg/dL, which few people have.
#[test]
fn many_unusual_values_are_counted_and_the_first_of_them_named() {
    let header = COHORT.lines().next().unwrap();
    let rows: Vec<String> = (0..7).map(|i| format!("p{i},27,70,1,2,Fell,1,s1,p1\n")).collect();
    let text = format!("{header}\n{}", rows.concat());
    let loaded = read_texts(&cohort(), &[("cohort.csv", &text)]).unwrap();
    let said = notices(&loaded, "unusual_values");
    assert!(said[0].contains("7 values lie outside") && said[0].contains("27, line 6 …)"), "{said:?}");
    assert!(!said[0].contains("line 7"), "{said:?}");
    let unshown = private(&cohort(), &text);
    let said = notices(&unshown, "unusual_values");
    assert!(
        said[0].contains("some values lie outside") && said[0].contains("cutspan check names them"),
        "{said:?}"
    );
}

#[test]
fn answers_weights_and_half_a_design_are_read_as_they_are() {
    let mut source = cohort();
    source.columns[3].codes.clear();
    let text =
        COHORT.replace("a,5.6,69.45,1,2", "a,5.6,69.45,1,No").replace("2,1.0,Strand,0", "2,YES,Strand,");
    let loaded = read_texts(&source, &[("cohort.csv", &text)]).unwrap();
    assert_eq!(yes_no(&loaded, "pregnant").iter().collect::<Vec<_>>(), [Some(false), Some(true), None]);
    let said = notices(&loaded, "weight_missing");
    assert!(said.len() == 1 && said[0].starts_with("no weight in column `w` for 1 person:"), "{said:?}");
    let unshown = private(&source, &text);
    assert!(notices(&unshown, "weight_missing")[0].starts_with("no weight in column `w` for some people:"));
    let design = |stratum: Option<&str>, psu: Option<&str>| {
        let mut source = cohort();
        (source.stratum, source.psu) = (stratum.map(str::to_owned), psu.map(str::to_owned));
        let loaded = read_texts(&source, &[("cohort.csv", COHORT)]).unwrap();
        assert!(loaded.has_design);
        ["stratum", "psu"].map(|column| texts(&loaded, column).iter().flatten().collect::<Vec<_>>().join(" "))
    };
    assert_eq!(design(None, Some("psu")), ["veldmark veldmark veldmark", "p1 p2 p1"]);
    assert_eq!(design(Some("st"), Some("psu")), ["s1 s1 s2", "p1 p2 p1"]);
}

#[test]
fn a_level_with_a_control_character_is_refused_with_its_line() {
    let text = COHORT.replacen("Strand", "Str\u{1b}and", 1);
    let error = refused(&cohort(), &[("cohort.csv", &text)]);
    assert!(error.contains("line 3") && error.contains("without control characters"), "{error}");
    assert!(!error.contains('\u{1b}'), "a terminal would obey it: {error}");
}

#[test]
fn weights_that_let_nobody_count_are_refused_with_their_column() {
    let text = COHORT.replace(",1.5,s1", ",0,s1").replace(",2,s2", ",NA,s2");
    let error = refused(&cohort(), &[("cohort.csv", &text)]);
    assert!(error.contains("veldmark: nobody has a weight above 0 in column `w`"), "{error}");
    assert!(!error.contains("interview"), "a table has one weight: {error}");
}

#[test]
fn one_fault_of_a_column_read_twice_is_told_once() {
    let mut source = cohort();
    source.columns[0].column = "x".to_owned();
    source.columns.push(mapped("hdl", "x", Some("mg/dL"), &[]));
    let error = refused(&source, &[("cohort.csv", COHORT)]);
    assert!(error.contains("no column `x`;") && !error.contains("things are wrong"), "{error}");
    let text = COHORT.replacen("a,5.6", "a,low", 1);
    source.columns[0].column = "fpg".to_owned();
    source.columns[5].column = "fpg".to_owned();
    let error = refused(&source, &[("cohort.csv", &text)]);
    assert!(error.contains("`low`") && !error.contains("things are wrong"), "{error}");
    source.files.clear();
    let study = study_in(Path::new("."), &source);
    let error = read(&study, &study.sources[0], &[]).unwrap_err().to_string();
    assert!(error.contains("no files are listed"), "{error}");
}
