//! What `.ci/speed` reads from the benchmarks: one line a number, and a yardstick to hold it against, so that
//! numbers of one machine can be compared with those of another.

use std::time::Instant;

/// Least time of something done `times` times, ms: the time without what else the machine was doing.
pub(crate) fn least_ms(times: usize, mut of: impl FnMut()) -> f64 {
    let mut least = f64::INFINITY;
    for _ in 0..times {
        let start = Instant::now();
        of();
        least = least.min(start.elapsed().as_secs_f64() * 1e3);
    }
    least
}

/// Tells a time to `.ci/speed`.
pub(crate) fn tell(name: &str, ms: f64) {
    println!("speed\t{name}\t{ms:.5}");
}

/// Tells how long this machine takes just now for something that is none of ours and never changes: the
/// factors of a full symmetric matrix of 240 rows.
pub(crate) fn tell_yardstick() {
    const SIZE: usize = 240;
    let entry = |i: usize, j: usize| if i == j { SIZE as f64 } else { 1.0 / (1.0 + (i + j) as f64) };
    let full: Vec<f64> = (0..SIZE * SIZE).map(|at| entry(at / SIZE, at % SIZE)).collect();
    let ms = least_ms(40, || {
        let mut rows = std::hint::black_box(full.clone());
        for i in 0..SIZE {
            for j in 0..=i {
                let (one, other) = (&rows[SIZE * i..SIZE * i + j], &rows[SIZE * j..SIZE * j + j]);
                let left = rows[SIZE * i + j] - one.iter().zip(other).map(|(a, b)| a * b).sum::<f64>();
                rows[SIZE * i + j] = if i == j { left.sqrt() } else { left / rows[SIZE * j + j] };
            }
        }
        std::hint::black_box(rows);
    });
    tell("yardstick", ms);
}
