//! What the page says of made-up results: one contrast, one verdict, and no headline that nobody asked for.

use cutspan::table::{Cell, Table, schema};

use crate::report::{page_of, words};
use crate::small_results;

const OUTCOME: &str = "metabolic_syndrome";
const LEADING: &str = "kernel_smoothed_youden";

fn open(name: &str) -> Table {
    Table::new(schema::shape(name).unwrap())
}

/// A test of all groups of a variable.
fn overall(grouping: &str, conclusion: &str, p: f64) -> Table {
    let mut table = open("heterogeneity");
    let row =
        table.row().text("survey", small_results::SURVEY).text("index", "homa_ir").text("outcome", OUTCOME);
    row.text("grouping", grouping)
        .text("method", LEADING)
        .real("f", Some(4.14))
        .real("df1", Some(1.0))
        .real("df2", Some(30.0))
        .real("p_holm", Some(p))
        .real("spread", Some(1.2))
        .real("ratio", Some(1.46))
        .text("conclusion", conclusion)
        .done()
        .unwrap();
    table
}

fn smoothed(groups: &[(&str, &str, f64)]) -> Table {
    let mut table = open("smoothed_cutoffs");
    for (grouping, group, cutoff) in groups {
        let row = table
            .row()
            .text("survey", small_results::SURVEY)
            .text("index", "homa_ir")
            .text("outcome", OUTCOME);
        row.text("population", "cohort")
            .text("grouping", *grouping)
            .text("group", *group)
            .text("method", LEADING)
            .real("cutoff", Some(*cutoff))
            .done()
            .unwrap();
    }
    table
}

/// Men and women, and what is concluded of them.
fn pair(conclusion: &str) -> Table {
    let mut table = open("cutoff_pairs");
    let row =
        table.row().text("survey", small_results::SURVEY).text("index", "homa_ir").text("outcome", OUTCOME);
    row.text("grouping", "sex")
        .text("group", "men")
        .text("other_group", "women")
        .text("method", LEADING)
        .real("ratio", Some(1.46))
        .real("ratio_lower", Some(1.08))
        .real("ratio_upper", Some(1.76))
        .real("p_holm", Some(0.02))
        .text("conclusion", conclusion)
        .done()
        .unwrap();
    table
}

fn decomposition(stated: &str) -> Table {
    let mut table = open("decomposition");
    for (adjustment, words, left) in [("none", "nothing", 100.0), ("age_band", "age", 82.0)] {
        let row = table
            .row()
            .text("survey", small_results::SURVEY)
            .text("index", "homa_ir")
            .text("outcome", OUTCOME);
        row.text("grouping", "sex")
            .text("method", LEADING)
            .text("adjustment", adjustment)
            .text("adjusted_for", words)
            .real("smallest", Some(2.0))
            .real("largest", Some(2.9))
            .real("ratio", Some(1.45))
            .real("log_range_remaining", Some(left))
            .text("stated", stated)
            .done()
            .unwrap();
    }
    table
}

fn said(further: Vec<Table>) -> String {
    let tables: Vec<Table> = small_results::tables().into_iter().chain(further).collect();
    words(&page_of(&tables))
}

#[test]
fn where_smoothed_cutoffs_turn_the_groups_round_no_direction_is_said() {
    let tables = small_results::tables();
    let counted = tables.iter().find(|table| table.name == "cutoffs").unwrap();
    let of = |group: &str| {
        let mut rows =
            counted.iter().filter(|row| row.text("index") == "homa_ir" && row.text("group") == group);
        rows.find(|row| row.text("rule") == "youden").and_then(|row| row.real("cutoff")).unwrap()
    };
    let (women, men) = (of("women"), of("men"));
    let turned = said(vec![smoothed(&[("sex", "women", men), ("sex", "men", women)])]);
    assert!(turned.contains("so that no direction can be said"), "{women} {men}");
    let alike = said(vec![smoothed(&[("sex", "women", women), ("sex", "men", men)])]);
    assert!(!alike.contains("no direction can be said"));
}

#[test]
fn a_pair_concludes_only_where_all_groups_together_do() {
    let alone = said(vec![pair("differ only when taken alone")]);
    assert!(alone.contains("taken alone") && !alone.contains("1 differs by more than noise"));
    let both = said(vec![pair("differ by more than noise")]);
    assert!(both.contains("1 differs by more than noise") && !both.contains("taken alone"));
    assert!(both.contains("by Holm over the pairs"));
}

#[test]
fn what_adjusting_takes_is_said_and_whether_there_is_anything_to_take() {
    let noise = overall("sex", "not distinguishable with these data", 0.17);
    let page = said(vec![decomposition("tool"), noise]);
    assert!(page.contains("adjusting for age takes 18 %; the difference itself is not more than noise"));
    let page = said(vec![decomposition("tool"), overall("sex", "differ by more than noise", 0.01)]);
    assert!(page.contains("adjusting for age takes 18 %.") && !page.contains("not more than noise"));
    let mut near = decomposition("tool");
    let equal = near.position("ratio_under_equality").unwrap();
    near.rows.iter_mut().for_each(|row| row[equal] = Cell::Real(1.5));
    let page = said(vec![near, overall("sex", "not distinguishable with these data", 0.17)]);
    assert!(
        page.contains("There is no difference to share out.") && !page.contains("adjusting for age takes")
    );
    assert!(said(Vec::new()).contains("it needs an age group and a BMI group"));
}

#[test]
fn a_variable_only_adjusted_for_leads_nothing_and_a_crossing_that_is_asked_for_does() {
    let lead = |further: Vec<Table>| {
        let page = said(further);
        let lead: Vec<&str> = page.lines().filter(|line| line.starts_with("<p class=\"lead\">")).collect();
        lead.join("\n")
    };
    // The made-up study crosses sex and ancestry.
    assert!(lead(Vec::new()).contains("across sex × ancestry"));
    let singles = |mut tables: Vec<Table>| {
        for table in &mut tables {
            if let Some(at) = table.position("grouping") {
                table.rows.retain(|row| !matches!(&row[at], Cell::Text(name) if name.contains(" × ")));
            }
        }
        tables
    };
    let mut tables = singles(small_results::tables());
    tables.push(smoothed(&[
        ("sex", "men", 2.9),
        ("sex", "women", 2.0),
        ("age_band", "20–39 years", 1.0),
        ("age_band", "40–59 years", 9.0),
    ]));
    let mut tests = overall("sex", "differ by more than noise", 0.01);
    tests.rows.extend(overall("age_band", "differ by more than noise", 0.001).rows);
    tables.push(tests);
    let before = words(&page_of(&tables));
    tables.push(decomposition("study"));
    let after = words(&page_of(&tables));
    // The lead, and the list of more of the same.
    let of = |page: &str| -> String {
        let said = |line: &&str| line.starts_with("<p class=\"lead\">") || line.starts_with("<li>");
        let answer =
            page.split("id=\"answer-heading\"").nth(1).and_then(|rest| rest.split("<h2").next()).unwrap();
        answer.lines().filter(said).collect::<Vec<_>>().join("\n")
    };
    assert!(of(&before).contains("across age the smoothed best cutoff runs"), "{}", of(&before));
    assert!(!of(&after).contains("across age"), "{}", of(&after));
    assert!(of(&after).contains("across sex the smoothed best cutoff runs"), "{}", of(&after));
}

#[test]
fn the_first_screen_speaks_of_every_threshold_of_the_study() {
    let page = said(Vec::new());
    let lead: Vec<&str> = page.lines().filter(|line| line.starts_with("<p class=\"lead\">")).collect();
    let thresholds =
        small_results::tables().into_iter().find(|table| table.name == "threshold_shares").unwrap();
    let others = thresholds.iter().filter(|row| row.text("grouping") == "everybody").skip(1).count();
    assert!(others > 3, "{others}");
    for words in
        [" Of the cohort, 80.0", "at or above HOMA-IR 2.65", "at or below QUICKI 0.344", "QUICKI 0.335"]
    {
        assert!(lead[0].contains(words), "{words}: {}", lead[0]);
    }
    assert_eq!(lead.len(), 2, "no more paragraphs than without them");
}

/// Less the parts that keep a range on one line.
fn unspanned(html: &str) -> String {
    html.replace("<span class=\"range\">", "").replace("</span>", "")
}

#[test]
fn marks_beside_a_sentence_show_its_numbers() {
    let page = page_of(&small_results::tables());
    let findings: Vec<&str> = page.split("<div class=\"finding\">").skip(1).collect();
    assert_eq!(findings.len(), 2);
    let mut marked = 0;
    for finding in findings {
        let (strip, rest) = finding.split_once("</table>").unwrap();
        let sentence = unspanned(rest.split_once("</p>").unwrap().0);
        for mark in strip.split("</svg></td><td>").skip(1) {
            let number = unspanned(mark.split_once("</td>").unwrap().0);
            assert!(sentence.contains(&number), "{number}: {sentence}");
            marked += 1;
        }
        let everybody = strip.matches("class=\"everybody\"").count();
        assert!(
            everybody > 0 && strip.matches("<circle").count() > everybody,
            "everybody and groups: {strip}"
        );
    }
    assert!(marked >= 6, "{marked}");
}

#[test]
fn a_cutoff_outside_those_of_the_groups_is_explained() {
    let mut tables = small_results::tables();
    let cutoffs = tables.iter_mut().find(|table| table.name == "cutoffs").unwrap();
    let (cutoff, group) = (cutoffs.position("cutoff").unwrap(), cutoffs.position("group").unwrap());
    let usual = words(&page_of(&small_results::tables()));
    for row in &mut tables.iter_mut().find(|table| table.name == "cutoffs").unwrap().rows {
        if matches!(&row[group], Cell::Text(name) if name == "everybody") {
            row[cutoff] = Cell::Real(0.5);
        }
    }
    assert!(words(&page_of(&tables)).contains("lies outside the groups’"));
    assert!(!usual.contains("lies outside the groups’"));
}

#[test]
fn the_answer_has_a_line_for_every_index_and_grouping_and_no_blank_cell() {
    let page = said(vec![smoothed(&[("sex", "men", 2.9), ("sex", "women", 2.0)])]);
    let (first, others) =
        page.split_once("class=\"scroll glance\"").unwrap().1.split_once("</table>").unwrap();
    assert!(
        first.contains("HOMA-IR") && !first.contains("QUICKI"),
        "the index asked about stands alone: {first}"
    );
    let others = others.split_once("class=\"scroll glance\"").unwrap().1.split("</table>").next().unwrap();
    let table = &[first, others].concat();
    for index in ["HOMA-IR", "QUICKI", "Signed balance"] {
        assert!(table.contains(index), "{index}");
    }
    assert!(table.contains("href=\"#index-homa_ir\"") && table.contains("sex × ancestry"));
    assert!(
        !table.contains("\"></td>") && table.contains("withheld") | table.contains("not tested"),
        "{table}"
    );
}

#[test]
fn the_charts_of_the_index_that_is_asked_about_come_first() {
    let page = page_of(&small_results::tables());
    let first = page.split("<section id=\"charts\"").nth(1).unwrap();
    let opened = first.split("<details open>").nth(1).unwrap();
    assert!(first.find("id=\"index-homa_ir\"").unwrap() < first.find("<details open>").unwrap());
    assert!(opened.contains("HOMA-IR"));
}

#[test]
fn methods_are_said_in_words() {
    let coded = [
        ("percentiles", "method", "weighted_step", "the smallest value that the wanted share of people"),
        ("percentiles", "interval", "woodruff_logit", "Woodruff intervals on the logit"),
        ("threshold_shares", "interval", "korn_graubard", "Korn–Graubard intervals of proportions"),
        ("auc", "method", "weighted_mann_whitney", "weighted share of pairs"),
        ("auc", "interval", "replicates_t_logit", "t intervals on the logit"),
    ];
    let mut tables = small_results::tables();
    for (name, column, code, _) in coded {
        let table = tables.iter_mut().find(|table| table.name == name).unwrap();
        let at = table.position(column).unwrap();
        table.rows.iter_mut().for_each(|row| row[at] = Cell::text(code));
    }
    let page = words(&page_of(&tables));
    let methods = page.split("id=\"methods\"").nth(1).unwrap().split("</section>").next().unwrap();
    for (.., code, words) in coded {
        assert!(methods.contains(words) && !methods.contains(code), "{code}: {methods}");
    }
}
