//! People who may not be shown in small counts: texts, charts and page of a run.

use std::fs;
use std::io::Read;
use std::path::PathBuf;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use flate2::read::GzDecoder;

use crate::small_counts::{is_small, private_run};

/// A whole number that stands alone.
fn number(word: &str) -> Option<i64> {
    word.trim_matches(|c: char| "(),.;:“”".contains(c)).parse().ok()
}

/// Where a text says how few people there are.
fn tells(text: &str) -> Vec<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut found = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let before = words[at.saturating_sub(2)..at].join(" ");
        let after = words[at + 1..(at + 4).min(words.len())].join(" ");
        let counts = before.ends_with("n =")
            || [
                "people",
                "person",
                "left out",
                "of them",
                "with outcome",
                "with the outcome",
                "without the outcome",
                "have a",
                "had a",
            ]
            .iter()
            .any(|start| after.starts_with(start));
        if number(word).is_some_and(is_small)
            && counts
            && !before.ends_with("fewer than")
            && !before.ends_with("than the")
        {
            found.push(format!("{before} {word} {after}"));
        }
    }
    found
}

#[test]
fn a_small_count_in_words_is_recognised() {
    for words in ["only 7 people have it", "in a group (n = 4) of them", "and 3 have a value", "9 left out"] {
        assert_eq!(tells(words).len(), 1, "{words}");
    }
    for words in ["fewer than 7 people", "12 people have it", "in 4 groups", "n = 40"] {
        assert!(tells(words).is_empty(), "{words}");
    }
}

/// Text between tags, a space where a tag stood.
fn words_of(markup: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    for letter in markup.chars() {
        match letter {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            _ if !inside => text.push(letter),
            _ => {}
        }
    }
    text
}

#[test]
fn no_text_of_the_run_tells_a_small_count() {
    let out = private_run();
    let mut files: Vec<PathBuf> =
        ["index.html", "methods.md", "charts/captions.md", "run.json", "datapackage.json"]
            .iter()
            .map(|name| out.join(name))
            .collect();
    files.extend(fs::read_dir(out.join("charts")).unwrap().map(|entry| entry.unwrap().path()));
    let mut read = 0;
    for file in files.iter().filter(|file| file.extension().is_some_and(|e| e != "png")) {
        let text = fs::read_to_string(file).unwrap();
        read += 1;
        let told = tells(&words_of(&text));
        assert!(told.is_empty(), "{}: {told:?}", file.display());
        // Counts stand at the right end of a forest's columns; the numbers of an axis in the middle.
        // Columns that end in a number without counting people: a cutoff in print, how many groups there are.
        let stem = file.file_stem().unwrap().to_string_lossy().into_owned();
        let other = ["published", "spread"].iter().any(|start| stem.starts_with(start));
        let counted = !other && file.extension().is_some_and(|e| e == "svg");
        let columns =
            text.split("<text").skip(1).filter(|text| counted && text.contains("text-anchor=\"end\""));
        for column in columns {
            let word = column
                .split_once('>')
                .and_then(|(_, rest)| rest.split_once('<'))
                .map_or("", |(word, _)| word);
            assert!(!number(word).is_some_and(is_small), "{}: {word}", file.display());
        }
    }
    assert!(read > 8, "{read}");
}

#[test]
fn no_cell_of_the_page_and_none_of_its_packed_counts_is_small() {
    const COUNTED: [&str; 10] = [
        "n",
        "with outcome",
        "unknown",
        "people left",
        "left out",
        "yes",
        "no",
        "missing",
        "at fill",
        "below limit",
    ];
    let html = fs::read_to_string(private_run().join("index.html")).unwrap();
    let (mut cells, mut counted, mut packed) = (0, 0, 0);
    for table in
        html.split("<table").skip(1).filter_map(|rest| rest.split_once("</table>")).map(|(table, _)| table)
    {
        let parts = |text: &str, tag: &str| -> Vec<String> {
            let open = format!("<{tag}");
            text.split(open.as_str())
                .skip(1)
                .map(|cell| words_of(&format!("<{}", cell.split("</").next().unwrap())).trim().to_owned())
                .collect()
        };
        let headings = parts(table.split("</thead>").next().unwrap(), "th ");
        for row in table.split("<tr>").skip(2) {
            for (heading, cell) in headings.iter().zip(parts(row, "td")) {
                cells += 1;
                let count = number(&cell).filter(|_| COUNTED.contains(&heading.as_str()));
                counted += usize::from(count.is_some());
                assert!(!count.is_some_and(is_small), "{heading}: {cell}");
            }
        }
    }
    let letters = html.split_once("id=\"explore-data\">").unwrap().1.split_once("</script>").unwrap().0;
    let mut json = String::new();
    GzDecoder::new(&STANDARD.decode(letters).unwrap()[..]).read_to_string(&mut json).unwrap();
    for name in ["\"n\":[", "\"with\":[", "\"without\":["] {
        for list in json.split(name).skip(1) {
            let list = list.split(']').next().unwrap();
            let counts: Vec<i64> = list.split(',').filter_map(|count| count.parse().ok()).collect();
            packed += counts.len();
            assert!(counts.iter().all(|count| !is_small(*count)), "{name} {list:.80}");
        }
    }
    assert!(cells > 500 && counted > 100 && packed > 50, "{cells} {counted} {packed}");
}
