//! Adding up tallies of pieces: files, cycles, row groups, sites.

use std::collections::BTreeMap;

use super::{FrameTally, JointColumn, JointTally, Tallies, Tally};
use crate::cohort::DesignTable;

/// Adds up tallies that were made with the same frames and the same plan (axes, weight scale, flags, outcomes).
/// The result does not depend on the order of the pieces. `None` without pieces, or when the pieces
/// do not share frames and a plan: the weight scale follows from the total weight, and levels that the study does not list
/// from the data, so both must be those of all pieces together.
#[must_use]
pub fn merge(pieces: &[Tallies]) -> Option<Tallies> {
    let first = pieces.first()?;
    let shared = |t: &Tallies| {
        t.plan == first.plan
            && t.frame_of == first.frame_of
            && t.frames.len() == first.frames.len()
            && t.joints.iter().map(wanted).eq(first.joints.iter().map(wanted))
            && t.frames.iter().zip(&first.frames).all(|(a, b)| a.frame == b.frame)
    };
    if !pieces.iter().all(shared) {
        return None;
    }
    let frames = (0..first.frames.len())
        .map(|f| merge_frames(&pieces.iter().map(|p| &p.frames[f]).collect::<Vec<_>>()))
        .collect();
    let mut merged = Tallies { frames, ..first.clone() };
    merged.joints = (0..first.joints.len()).map(|j| merge_joints(pieces, j, &merged)).collect();
    Some(merged)
}

/// What a joint tally is of.
fn wanted(joint: &JointTally) -> (usize, &[JointColumn]) {
    (joint.frame, &joint.columns)
}

/// What people of one row share: values, cell, flags, outcomes and unit.
type Shared = (Vec<i64>, i64, u64, u64, u32);

/// Adds up one joint tally of every piece, with the units of the merged design.
fn merge_joints(pieces: &[Tallies], position: usize, merged: &Tallies) -> JointTally {
    let first = &pieces[0].joints[position];
    let design = &merged.frames[first.frame].design;
    let mut rows: BTreeMap<Shared, (u32, i64, i64)> = BTreeMap::new();
    for piece in pieces {
        let joint = &piece.joints[position];
        let units = positions(&piece.frames[joint.frame].design, design);
        for i in 0..joint.cell.len() {
            let keys = joint.keys.iter().map(|key| key[i]).collect();
            let unit = units[joint.unit[i] as usize];
            let sums =
                rows.entry((keys, joint.cell[i], joint.flags[i], joint.outcomes[i], unit)).or_default();
            sums.0 += joint.people[i];
            sums.1 += joint.weight[i];
            sums.2 += joint.weight_squared[i];
        }
    }
    let (mut keys, mut sum) = (vec![Vec::new(); first.columns.len()], Tally::default());
    for ((key, cell, flags, outcomes, unit), (people, weight, squared)) in rows {
        keys.iter_mut().zip(key).for_each(|(keys, key)| keys.push(key));
        sum.cell.push(cell);
        sum.flags.push(flags);
        sum.outcomes.push(outcomes);
        sum.unit.push(unit);
        sum.people.push(people);
        sum.weight.push(weight);
        sum.weight_squared.push(squared);
    }
    JointTally::new(first.frame, first.columns.clone(), keys, sum)
}

fn merge_frames(pieces: &[&FrameTally]) -> FrameTally {
    let design = DesignTable::merge(&pieces.iter().map(|p| &p.design).collect::<Vec<_>>());
    let positions: Vec<Vec<u32>> = pieces.iter().map(|p| positions(&p.design, &design)).collect();
    let add = |pick: &dyn Fn(&FrameTally) -> Tally| {
        let parts: Vec<Tally> =
            pieces.iter().zip(&positions).map(|(piece, to)| renumbered(pick(piece), to)).collect();
        add_up(&parts)
    };
    let indices = (0..pieces[0].indices.len()).map(|i| add(&|p| p.indices[i].clone())).collect();
    FrameTally { frame: pieces[0].frame.clone(), people: add(&|p| p.people.clone()), indices, design }
}

/// Position of each unit of `part` in `whole`.
fn positions(part: &DesignTable, whole: &DesignTable) -> Vec<u32> {
    let find = |unit: &crate::cohort::Unit| {
        let at = whole.units.binary_search_by(|u| (&u.stratum, &u.psu).cmp(&(&unit.stratum, &unit.psu)));
        at.unwrap_or_else(|before| before) as u32
    };
    part.units.iter().map(find).collect()
}

fn renumbered(mut tally: Tally, positions: &[u32]) -> Tally {
    for unit in &mut tally.unit {
        *unit = positions[*unit as usize];
    }
    tally
}

/// (key, cell), (flags, outcomes), unit, people, (weight, squared weight).
type SumRow = ([i64; 2], [u64; 2], u32, u32, [i64; 2]);

/// Concatenates, sorts and sums rows that share key, cell, flags, outcomes and unit.
fn add_up(pieces: &[Tally]) -> Tally {
    let mut rows: Vec<SumRow> = Vec::new();
    for t in pieces {
        rows.extend((0..t.len()).map(|i| {
            let sums = [t.weight[i], t.weight_squared[i]];
            ([t.key[i], t.cell[i]], [t.flags[i], t.outcomes[i]], t.unit[i], t.people[i], sums)
        }));
    }
    rows.sort_unstable();
    let mut sum = Tally::default();
    for ([key, cell], [flags, outcomes], unit, people, [weight, squared]) in rows {
        let last = sum.len().checked_sub(1).filter(|&i| {
            (sum.key[i], sum.cell[i], sum.flags[i], sum.outcomes[i], sum.unit[i])
                == (key, cell, flags, outcomes, unit)
        });
        if let Some(i) = last {
            sum.people[i] += people;
            sum.weight[i] += weight;
            sum.weight_squared[i] += squared;
        } else {
            sum.key.push(key);
            sum.cell.push(cell);
            sum.flags.push(flags);
            sum.outcomes.push(outcomes);
            sum.unit.push(unit);
            sum.people.push(people);
            sum.weight.push(weight);
            sum.weight_squared.push(squared);
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(key: i64, unit: u32) -> Tally {
        Tally {
            key: vec![key],
            cell: vec![0],
            flags: vec![0],
            outcomes: vec![1],
            unit: vec![unit],
            people: vec![1],
            weight: vec![10],
            weight_squared: vec![100],
        }
    }

    #[test]
    fn rows_that_share_everything_are_summed_and_others_kept_apart() {
        let sum = add_up(&[piece(5, 0), piece(4, 0), piece(5, 0), piece(5, 1)]);
        assert_eq!(sum.key, [4, 5, 5]);
        assert_eq!(sum.people, [1, 2, 1]);
        assert_eq!(sum.weight, [10, 20, 10]);
        assert_eq!(sum.weight_squared, [100, 200, 100]);
        assert_eq!(sum.unit, [0, 0, 1]);
    }
}
