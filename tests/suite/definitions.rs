use cutspan::definitions::{Definitions, indices, waist_tables};

#[test]
fn x() {
    let all = Definitions::built_in(&waist_tables()[0]);
    for i in indices() {
        println!("{} {:?}", i.name, all.ingredients(&i.name, &i.sql()).unwrap());
    }
    for o in &all.outcomes {
        let s = all.outcome_sql(o).unwrap();
        println!("{} {:?}", o.name, all.ingredients(&o.name, &s).unwrap());
    }
}
