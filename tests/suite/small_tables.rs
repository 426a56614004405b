//! Small counts in made-up tables, one rule at a time: what is left out, what stays, and what is said. Worked by hand.

use cutspan::table::small::{self, LeftOut};
use cutspan::table::{Row, Table, schema};

const LIMIT: i64 = 10;

fn open(name: &str) -> Table {
    Table::new(schema::shape(name).unwrap())
}

fn left_out(table: Table) -> (Table, LeftOut) {
    let mut tables = [table];
    let counted = small::hide(&mut tables, LIMIT);
    let [table] = tables;
    (table, counted)
}

fn rows_of(table: &Table) -> Vec<Row<'_>> {
    table.iter().collect()
}

/// Steps of a source: people and how many were left out.
fn flow(steps: &[(&str, i64, i64)]) -> Table {
    let mut table = open("participant_flow");
    for (order, (source, people, left)) in steps.iter().enumerate() {
        let row =
            table.row().text("source", *source).whole("order", Some(order as i64 + 1)).text("step", "step");
        row.whole("people", Some(*people)).whole("left_out", Some(*left)).done().unwrap();
    }
    table
}

fn people_left(table: &Table) -> Vec<(Option<i64>, Option<i64>)> {
    table.iter().map(|row| (row.whole("people"), row.whole("left_out"))).collect()
}

#[test]
fn a_step_of_few_people_is_hidden_and_the_ends_stay() {
    let (table, counted) =
        left_out(flow(&[("all", 100, 0), ("all", 96, 4), ("all", 80, 16), ("all", 80, 0)]));
    // 100 − 96 = 4; and 96 − 16 would tell the 96 again.
    // That the first leaves nobody out is not told either: the joined people are known.
    let shown = [(None, None), (None, None), (None, None), (Some(80), None)];
    assert_eq!(people_left(&table), shown);
    let why: Vec<String> = table.iter().map(|row| row.text("withheld").to_owned()).collect();
    let few = "fewer than 10 people left out";
    let around = "would tell how few another step leaves out";
    assert_eq!(why, [few, few, around, few]);
    assert_eq!(counted, LeftOut { counts: 3, beside: 4, shares: 0 });
    // A last step that leaves three out reads as one that leaves nobody out.
    let (three, _) = left_out(flow(&[("all", 100, 0), ("all", 96, 4), ("all", 83, 13), ("all", 80, 3)]));
    assert_eq!(people_left(&three), shown);
    assert_eq!(three.iter().map(|row| row.text("withheld").to_owned()).collect::<Vec<_>>(), why);
}

/// 900 in the file and 899 of the joined cohort: one person, whatever stands between.
#[test]
fn no_two_steps_that_are_told_differ_by_few_people_whatever_stands_between() {
    let steps = [
        ("clinic", 900, 0),
        ("all", 900, 0),
        ("all", 899, 1),
        ("all", 880, 19),
        ("all", 876, 4),
        ("all", 848, 28),
        ("each index", 825, 23),
    ];
    let (table, _) = left_out(flow(&steps));
    let told: Vec<i64> = table.iter().filter_map(|row| row.whole("people")).collect();
    for (at, one) in told.iter().enumerate() {
        let few = |other: &&i64| (1..LIMIT).contains(&(one - **other).abs());
        assert_eq!(told[..at].iter().find(few), None, "{one} of {told:?}");
    }
    // Forward from 880 or back from 876 one of the two stands: the later one.
    assert_eq!(told, [900, 876, 848, 825]);
    // Two files whose people together are few more than are joined.
    let (table, _) = left_out(flow(&[("a", 450, 0), ("b", 455, 0), ("all", 900, 5), ("all", 700, 200)]));
    assert_eq!(people_left(&table)[2..], [(None, None), (Some(700), None)], "905 − 900 = 5");
}

#[test]
fn a_last_step_of_few_people_is_hidden_itself() {
    let (table, _) = left_out(flow(&[("clinic", 30, 0), ("all", 5, 25)]));
    assert_eq!(people_left(&table), [(Some(30), Some(0)), (None, None)]);
}

#[test]
fn each_index_starts_from_the_people_before_and_hides_few_who_lack_it() {
    let steps = [
        ("clinic", 90, 0),
        ("all", 80, 10),
        ("each index", 76, 4),
        ("each index", 60, 20),
        ("each index", 80, 0),
    ];
    let (table, _) = left_out(flow(&steps));
    let shown = [(Some(90), Some(0)), (Some(80), Some(10)), (None, None), (Some(60), Some(20)), (None, None)];
    assert_eq!(people_left(&table), shown);
}

#[test]
fn files_with_nearly_the_same_people_are_told_once() {
    // 55 − 50 = 5 and 50 − 46 = 4.
    let (table, _) = left_out(flow(&[("a", 50, 0), ("a", 55, 0), ("a", 46, 9)]));
    assert_eq!(people_left(&table), [(Some(50), Some(0)), (None, Some(0)), (None, None)]);
}

/// Answers of groups: n, yes, no and unknown, where they are stated.
fn items(rows: &[(&str, &str, [Option<i64>; 4])]) -> Table {
    let mut table = open("outcome_items");
    for (grouping, group, counts) in rows {
        let row = table.row().text("survey", "s").text("outcome", "o").text("population", "cohort");
        let row = row.text("grouping", *grouping).text("group", *group);
        let names = ["n", "n_yes", "n_no", "n_unknown"];
        names.iter().zip(counts).fold(row, |row, (name, count)| row.whole(name, *count)).done().unwrap();
    }
    table
}

fn shown<const N: usize>(table: &Table, names: [&str; N]) -> Vec<[Option<i64>; N]> {
    table.iter().map(|row| names.map(|name| row.whole(name))).collect()
}

const ANSWERS: [&str; 4] = ["n", "n_yes", "n_no", "n_unknown"];

#[test]
fn hiding_goes_on_until_nothing_can_be_worked_out() {
    let some = |counts: [i64; 4]| counts.map(Some);
    let (table, _) = left_out(items(&[
        ("everybody", "everybody", some([359, 49, 130, 180])),
        ("age", "young", some([84, 4, 30, 50])),
        ("age", "middle", some([150, 20, 60, 70])),
        ("age", "old", some([125, 25, 40, 60])),
    ]));
    // Young: yes is small, no goes with it. Down the ages: yes of the middle, no of the old. Then along their rows: no
    // of the middle, yes of the old.
    let expected = [
        some([359, 49, 130, 180]),
        [Some(84), None, None, Some(50)],
        [Some(150), None, None, Some(70)],
        [Some(125), None, None, Some(60)],
    ];
    assert_eq!(shown(&table, ANSWERS), expected);
}

#[test]
fn nobody_is_as_few_as_a_few_and_an_absent_part_gives_nothing_away() {
    // 40 − 36 would tell that the two that are hidden are 4 together, or nobody.
    for [yes, no, unknown] in [[4, 36, 0], [0, 40, 0], [3, 36, 1]] {
        let counts = [Some(40), Some(yes), Some(no), Some(unknown)];
        let (table, _) = left_out(items(&[("everybody", "everybody", counts)]));
        assert_eq!(shown(&table, ANSWERS), [[Some(40), None, None, None]]);
    }
    let (table, _) = left_out(items(&[("everybody", "everybody", [Some(40), Some(4), Some(30), None])]));
    assert_eq!(shown(&table, ANSWERS), [[Some(40), None, Some(30), None]]);
    // A row of few people says nothing.
    let (table, _) = left_out(items(&[("everybody", "everybody", [Some(6), Some(0), Some(6), Some(0)])]));
    assert_eq!(shown(&table, ANSWERS), [[None; 4]]);
    // Nobody in one of two groups reads as a few.
    let rows = [("everybody", 60), ("slim", 4), ("heavy", 0)];
    let rows = rows.map(|(group, yes)| {
        let grouping = if group == "everybody" { group } else { "bmi" };
        (grouping, group, [None, Some(yes), None, None])
    });
    let (table, _) = left_out(items(&rows));
    assert_eq!(shown(&table, ["n_yes"]), [[Some(60)], [None], [None]]);
}

#[test]
fn a_group_without_a_count_counts_as_hidden() {
    let count = |rows: &[(&str, &str, Option<i64>)]| {
        let rows: Vec<_> = rows.iter().map(|(by, group, n)| (*by, *group, [None, *n, None, None])).collect();
        shown(&left_out(items(&rows)).0, ["n_yes"]).concat()
    };
    // 84 − 30 − 50 = 4 would be those without a count: a second one goes.
    let all = ("everybody", "everybody", Some(84));
    let found = count(&[all, ("age", "a", None), ("age", "b", Some(30)), ("age", "c", Some(50))]);
    assert_eq!(found, [Some(84), None, None, Some(50)]);
    // Two are not printed already.
    let found = count(&[all, ("age", "a", None), ("age", "b", Some(4)), ("age", "c", Some(50))]);
    assert_eq!(found, [Some(84), None, None, Some(50)]);
}

#[test]
fn what_a_count_leaves_over_is_a_count_too() {
    let mut table = open("measurement_limits");
    for missing in [95, 60] {
        let row = table.row().text("survey", "s").text("quantity", "insulin").whole("n", Some(100));
        let row = row.whole("missing", Some(missing)).real("missing_percent", Some(missing as f64));
        row.done().unwrap();
    }
    // 100 − 95 = 5 have a value.
    let (table, counted) = left_out(table);
    assert_eq!(shown(&table, ["n", "missing"]), [[Some(100), None], [Some(100), Some(60)]]);
    assert_eq!(
        rows_of(&table).iter().map(|row| row.real("missing_percent")).collect::<Vec<_>>(),
        [None, Some(60.0)]
    );
    assert_eq!((counted.counts, counted.beside, counted.shares), (0, 1, 1));
    // Where people without the outcome have no column they are what is left: 40 − 35 = 5.
    let mut table = open("curve_checks");
    table
        .row()
        .text("measure", "youden_cutoff")
        .whole("n", Some(40))
        .whole("n_with", Some(35))
        .done()
        .unwrap();
    assert_eq!(shown(&left_out(table).0, ["n", "n_with"]), [[Some(40), None]]);
}

#[test]
fn groups_of_crossed_variables_are_closed_along_both() {
    let count = |rows: &[(&str, &str, i64)]| {
        let rows: Vec<_> =
            rows.iter().map(|(by, group, n)| (*by, *group, [None, Some(*n), None, None])).collect();
        shown(&left_out(items(&rows)).0, ["n_yes"]).concat()
    };
    let sexes = [("everybody", "everybody", 200), ("sex", "women", 100), ("sex", "men", 100)];
    let ages = [("age", "young", 90), ("age", "old", 110)];
    let cells = [("women × young", 4), ("women × old", 96), ("men × young", 86), ("men × old", 14)];
    let cells = cells.map(|(group, n)| ("sex × age", group, n));
    let found = count(&[&sexes[..], &ages, &cells].concat());
    assert_eq!(&found[..5], [Some(200), Some(100), Some(100), Some(90), Some(110)]);
    // Women: 100 − 96. Young: 90 − 86. With those two gone the men's fourth would tell them.
    assert_eq!(found[5..], [None; 4]);
}

/// The young are left out beside 6 men of unknown age: women and men of them together would be the young, though no other
/// line of the crossing hides one of these.
#[test]
fn all_crossings_of_a_group_that_is_left_out_do_not_tell_it() {
    let rows = [
        ("everybody", "everybody", 306),
        ("age", "young", 80),
        ("age", "old", 100),
        ("age", "oldest", 120),
        ("sex", "women", 187),
        ("sex", "men", 119),
        ("sex × age", "women × young", 45),
        ("sex × age", "women × old", 40),
        ("sex × age", "women × oldest", 102),
        ("sex × age", "men × young", 35),
        ("sex × age", "men × old", 60),
        ("sex × age", "men × oldest", 18),
    ];
    let rows = rows.map(|(by, group, n)| (by, group, [None, Some(n), None, None]));
    let found = shown(&left_out(items(&rows)).0, ["n_yes"]).concat();
    assert_eq!(found[..6], [Some(306), None, Some(100), Some(120), Some(187), Some(119)]);
    assert_eq!([found[6], found[9]], [None; 2], "45 and 35 are the young");
}

#[test]
fn rows_of_another_threshold_are_lines_of_their_own() {
    let mut table = open("threshold_shares");
    for (threshold, women) in [(2.0, 40), (3.0, 4)] {
        for (grouping, group, n) in
            [("everybody", "everybody", 100), ("sex", "women", women), ("sex", "men", 100 - women)]
        {
            let row = table.row().text("survey", "s").text("index", "homa_ir").text("population", "cohort");
            let row = row.text("grouping", grouping).text("group", group).real("threshold", Some(threshold));
            row.whole("n", Some(n)).real("share_beyond", Some(50.0)).done().unwrap();
        }
    }
    let found = shown(&left_out(table).0, ["n"]).concat();
    assert_eq!(found, [Some(100), Some(40), Some(60), Some(100), None, None]);
}

#[test]
fn levels_of_a_variable_are_a_line_and_its_median_is_none_of_them() {
    let mut table = open("sample");
    let rows = [
        ("sex", "women", 4, 4.0),
        ("sex", "men", 96, 96.0),
        ("age", "median", 100, 51.0),
        ("sugar", "median", 5, 95.0),
        ("waist", "low", 4, 4.0),
        ("waist", "high", 96, 96.0),
        ("waist", "median", 50, 97.0),
    ];
    for (variable, level, n, value) in rows {
        let row = table.row().text("survey", "s").text("population", "cohort").text("variable", variable);
        row.text("level", level).whole("n", Some(n)).real("value", Some(value)).done().unwrap();
    }
    let (table, _) = left_out(table);
    assert_eq!(shown(&table, ["n"]).concat(), [None, None, Some(100), None, None, None, Some(50)]);
    let values: Vec<_> = table.iter().map(|row| row.real("value")).collect();
    // A median of few people is theirs.
    assert_eq!(values, [None, None, Some(51.0), None, None, None, Some(97.0)]);
}

/// hand: 22.5 % of 40 are 9; 25 % are 10; 77.5 % leave 9; 0 % are nobody.
#[test]
fn a_share_of_so_few_goes_with_its_interval_and_says_why() {
    let mut table = open("threshold_shares");
    for share in [22.5, 25.0, 77.5, 0.0] {
        let row = table.row().text("survey", "s").text("index", "homa_ir").text("population", "cohort");
        let row = row.text("grouping", "everybody").text("group", "everybody").real("threshold", Some(share));
        let row = row
            .whole("n", Some(40))
            .real("share_beyond", Some(share))
            .real("percentile", Some(100.0 - share));
        row.real("lower", Some(share / 2.0)).real("upper", Some(100.0)).done().unwrap();
    }
    let (table, counted) = left_out(table);
    let columns = ["share_beyond", "lower", "upper", "percentile"];
    let printed: Vec<_> = table.iter().map(|row| columns.map(|name| row.real(name).is_some())).collect();
    assert_eq!(printed, [[false; 4], [true; 4], [false; 4], [false; 4]]);
    let why: Vec<&str> = table.iter().map(|row| row.text("withheld")).collect();
    let few = "stands for or leaves out fewer than 10 people";
    assert_eq!(why, [few, "", few, few], "nobody reads as nine do");
    assert_eq!(counted, LeftOut { counts: 0, beside: 0, shares: 3 });
    assert!(!small::stands_for_few(0.5, 40.0, LIMIT) && small::stands_for_few(0.95, 100.0, LIMIT));
    assert!(small::stands_for_few(0.0, 500.0, LIMIT) && small::stands_for_few(1.0, 500.0, LIMIT));
}

/// Nobody or four of 40 women with the outcome, and nobody or seven of whom it is not known.
#[test]
fn nobody_and_a_few_leave_the_same_table() {
    let of = |women: i64, unknown: i64| {
        let mut table = open("outcome_prevalence");
        let groups = [
            ("everybody", "everybody", 120, 54),
            ("sex", "women", 40, women),
            ("sex", "men", 80, 54 - women),
        ];
        for (by, group, n, with) in groups {
            let row = table.row().text("survey", "s").text("outcome", "o").text("population", "cohort");
            let row = row.text("grouping", by).text("group", group).whole("n", Some(n));
            let row = row.whole("n_with", Some(with)).whole("n_without", Some(n - with));
            let row = row.whole("n_unknown", Some(unknown)).whole("df", Some(n - 1));
            row.real("prevalence", Some(100.0 * with as f64 / n as f64)).done().unwrap();
        }
        left_out(table).0
    };
    assert_eq!(of(0, 0).rows, of(4, 7).rows);
    assert_ne!(of(0, 0).rows, of(14, 0).rows);
}

/// A cutoff that is moved up lets people out and nobody in.
#[test]
fn nobody_who_cannot_be_is_no_few() {
    let mut table = open("reclassified");
    for (newly, no_longer) in [(0.0, 10.0), (0.0, 2.0), (0.0, 0.0)] {
        let row = table.row().text("index", "homa_ir").whole("n", Some(200));
        let row = row.real("newly_beyond", Some(newly)).real("no_longer_beyond", Some(no_longer));
        row.done().unwrap();
    }
    let (table, _) = left_out(table);
    let printed: Vec<_> =
        table.iter().map(|row| (row.real("newly_beyond"), row.real("no_longer_beyond"))).collect();
    assert_eq!(printed, [(Some(0.0), Some(10.0)), (None, None), (None, None)]);
}

#[test]
fn routes_say_by_method_what_they_measure() {
    let mut table = open("assay_routes");
    for method in ["share_beyond", "weighted_step"] {
        let row = table.row().text("index", "homa_ir").text("method", method).whole("n", Some(100));
        row.real("estimate", Some(4.0)).done().unwrap();
    }
    let (table, _) = left_out(table);
    let estimates: Vec<_> = table.iter().map(|row| row.real("estimate")).collect();
    assert_eq!(estimates, [None, Some(4.0)], "a percentile of 4 is no share");
}

#[test]
fn a_remark_is_added_to_those_before_it() {
    let mut table = open("outcome_prevalence");
    let row = table.row().text("outcome", "o").text("grouping", "everybody").text("group", "everybody");
    let row =
        row.whole("n", Some(40)).whole("n_with", Some(4)).whole("n_without", Some(36)).whole("df", Some(39));
    row.text("notices", "few degrees of freedom").done().unwrap();
    let (table, _) = left_out(table);
    let row = rows_of(&table)[0];
    assert_eq!(
        row.text("notices"),
        "few degrees of freedom; counts that would show fewer than 10 people are left out"
    );
    assert_eq!((row.whole("n"), row.whole("df")), (Some(40), None), "degrees of freedom tell counts");
}

/// 9 degrees of freedom of people who are drawn one by one are those of 10 people, and no digit of them is rounded.
#[test]
fn few_degrees_of_freedom_are_few_people() {
    let mut table = open("index_comparison");
    for df in [8, 9, 10] {
        let row = table.row().text("index", "homa_ir").whole("n", Some(200)).whole("df", Some(df));
        row.done().unwrap();
    }
    assert_eq!(shown(&left_out(table).0, ["df"]).concat(), [None, None, Some(10)]);
}

#[test]
fn what_is_left_is_rounded_last() {
    let mut table = open("outcome_prevalence");
    let row = table.row().text("outcome", "o").text("grouping", "everybody").text("group", "everybody");
    let row = row.whole("n", Some(683)).whole("n_with", Some(307)).whole("n_without", Some(376));
    row.real("prevalence", Some(44.948_755_5)).real("effective_n", Some(682.24)).done().unwrap();
    let mut tables = [table];
    assert_eq!(small::leave_out(&mut tables, LIMIT), LeftOut::default());
    let row = rows_of(&tables[0])[0];
    assert_eq!(["n", "n_with", "n_without"].map(|name| row.whole(name)), [Some(685), Some(305), Some(375)]);
    assert_eq!((row.real("prevalence"), row.real("effective_n")), (Some(45.0), Some(680.0)));
}
