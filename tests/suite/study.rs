use std::path::Path;

use cutspan::study::parse;

const SMALL: &str = include_str!("../fixtures/study/small.toml");

#[test]
fn the_resolved_study_reads_back_as_the_same_study() {
    let study = parse(SMALL, "small.toml", Path::new("studies")).unwrap();
    println!("{}", study.resolved_toml);
    let again = parse(&study.resolved_toml, "study.toml", Path::new("studies")).unwrap();
    assert_eq!(again, study);
}
