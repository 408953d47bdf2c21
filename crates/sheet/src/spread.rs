//! Labels along an edge: spread so that none covers another, each as near to its place as can be.

/// Where labels go whose places are `wanted`, in ascending order: `pitch` apart at least, between `low` and
/// `high`, and moved as little as possible (least sum of squares). `None` if there is no room for all.
pub(crate) fn spread(wanted: &[f64], pitch: f64, low: f64, high: f64) -> Option<Vec<f64>> {
    let count = f64::from(u32::try_from(wanted.len()).ok()?);
    let last_low = high - (count - 1.0) * pitch;
    // A hair, for a row that fits exactly.
    if !wanted.is_empty() && last_low < low - 1e-9 {
        return None;
    }
    // Less the pitch of those before it, each label must only not go back: pooled means of what would.
    let mut pools: Vec<(f64, f64)> = Vec::new();
    let mut before = 0.0;
    for place in wanted {
        let (mut sum, mut size) = (place - before * pitch, 1.0);
        while let Some((earlier, many)) = pools.pop_if(|(earlier, many)| *earlier / *many >= sum / size) {
            sum += earlier;
            size += many;
        }
        pools.push((sum, size));
        before += 1.0;
    }
    let mut places = Vec::with_capacity(wanted.len());
    let mut index = 0.0;
    for (sum, size) in pools {
        let start = (sum / size).clamp(low, last_low.max(low));
        let mut left = size;
        while left > 0.5 {
            places.push(start + index * pitch);
            index += 1.0;
            left -= 1.0;
        }
    }
    Some(places)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_with_room_stay_and_crowded_ones_spread_about_their_middle() {
        assert_eq!(spread(&[1.0, 10.0, 20.0], 4.0, 0.0, 30.0), Some(vec![1.0, 10.0, 20.0]));
        assert_eq!(spread(&[10.0, 10.0, 10.0], 4.0, 0.0, 30.0), Some(vec![6.0, 10.0, 14.0]));
        assert_eq!(spread(&[0.0, 1.0, 29.0, 30.0], 4.0, 0.0, 30.0), Some(vec![0.0, 4.0, 26.0, 30.0]));
        assert_eq!(spread(&[], 4.0, 0.0, 30.0), Some(vec![]));
    }

    #[test]
    fn too_many_labels_have_no_room() {
        assert_eq!(spread(&[5.0; 4], 10.0, 0.0, 29.0), None);
        assert_eq!(spread(&[5.0; 4], 10.0, 0.0, 30.0), Some(vec![0.0, 10.0, 20.0, 30.0]));
    }
}
