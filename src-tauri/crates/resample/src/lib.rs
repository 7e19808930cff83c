//! Sound brought from one sample rate to another.
//!
//! A crate of its own: wherever the transform is called its whole family of kernels is compiled, a minute
//! of work that would else fall on every build of the `audio` room and of its tests.

use rubato::{
    Fft, FixedSync, Resampler,
    audioadapter_buffers::{direct::SequentialSlice, owned::InterleavedOwned},
};

/// Samples of one channel at `from` a second as they are at `to` a second, without delay.
///
/// # Errors
/// What the transform says of the two rates.
pub fn resample(samples: &[i16], from: u32, to: u32) -> Result<Vec<i16>, String> {
    let from = usize::try_from(from).map_err(|e| e.to_string())?;
    let to = usize::try_from(to).map_err(|e| e.to_string())?;
    let input: Vec<f32> = samples.iter().map(|s| f32::from(*s)).collect();
    let length = input.len();
    let input = SequentialSlice::new(&input, 1, length).map_err(|e| e.to_string())?;
    let mut fft =
        Fft::<f32>::new(from, to, 1024, 1, FixedSync::Input).map_err(|e| e.to_string())?;
    let output: InterleavedOwned<f32> = fft
        .process_all(&input, length, None)
        .map_err(|e| e.to_string())?;
    Ok(output.take_data().into_iter().map(sample).collect())
}

#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "rounded to a whole number; `as` saturates at the ends of i16"
)]
fn sample(value: f32) -> i16 {
    value.round() as i16
}
