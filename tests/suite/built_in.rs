//! An outcome that counts a part of the index: said on what one hands on.

use std::fs;
use std::path::Path;

use super::claim::{joined, said, small_demo};

const SYNDROME: &str = "metabolic_syndrome_harmonized_2009";

/// The words of the picture of a claim about HOMA-IR and an outcome.
fn picture(folder: &Path, outcome: &str) -> String {
    let claimed = ["--index", "homa_ir", "--below", "2", "--outcome", outcome];
    let asked = ["--says", "npv at least 90 %", "--chart", "claim.svg", "small.toml"];
    said(folder, &[&claimed[..], &asked].concat());
    let svg = fs::read_to_string(folder.join("claim.svg")).unwrap();
    let words: Vec<&str> = svg.split('<').filter_map(|mark| Some(mark.split_once('>')?.1)).collect();
    joined(&words.join(" "))
}

#[test]
fn the_picture_of_a_claim_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let file = small_demo(folder.path(), "");
    let outcomes = "outcomes = [\"insulin_resistant\"";
    let text = fs::read_to_string(&file).unwrap().replace(outcomes, &format!("{outcomes}, \"{SYNDROME}\""));
    fs::write(&file, text).unwrap();
    let shared = picture(folder.path(), SYNDROME);
    assert!(shared.contains("part of their agreement is built in"), "{shared}");
    assert!(!picture(folder.path(), "insulin_resistant").contains("is built in"));
}
