#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers of the tests; an overflow fails the test"
)]

use super::*;

/// Gives 1/1000, 2/1000, 3/1000 and so on.
#[derive(Default)]
struct Ramp {
    next: u16,
    blocks: Vec<usize>,
}

impl Fill for Ramp {
    fn fill(&mut self, out: &mut [f32]) {
        self.blocks.push(out.len());
        for sample in out {
            self.next += 1;
            *sample = f32::from(self.next) / 1000.0;
        }
    }

    fn stamp(&mut self, _frames: u32, _now_ns: u64, _heard_ns: u64) {}
}

#[test]
fn every_channel_of_every_device_gets_every_sample() {
    for channels in 1..=12 {
        for frames in [1, 255, 256, 257, 900] {
            let mut ramp = Ramp::default();
            let mut data = vec![9.0_f32; frames * channels];
            spread(&mut ramp, &mut data, channels);
            for (n, frame) in data.chunks(channels).enumerate() {
                let wanted = f32::from(u16::try_from(n + 1).unwrap()) / 1000.0;
                let same = frame.iter().all(|s| (s - wanted).abs() < f32::EPSILON);
                assert!(same, "{channels} channels, frame {n}: {frame:?}");
            }
            assert_eq!(ramp.blocks.iter().sum::<usize>(), frames);
            assert!(ramp.blocks.iter().all(|block| *block <= CHUNK));
        }
    }
}

/// Source: arithmetic: half of full in each width; an unsigned sample is silent in its middle.
#[test]
fn samples_of_every_width_are_as_high() {
    struct Half;
    impl Fill for Half {
        fn fill(&mut self, out: &mut [f32]) {
            out.fill(0.5);
        }
        fn stamp(&mut self, _frames: u32, _now_ns: u64, _heard_ns: u64) {}
    }
    fn of<T: SizedSample + FromSample<f32>>() -> T {
        let mut data = [T::EQUILIBRIUM; 6];
        spread(&mut Half, &mut data, 6);
        data[5]
    }
    assert_eq!((of::<i8>(), of::<u8>()), (64, 192));
    assert_eq!((of::<i16>(), of::<u16>()), (16_384, 49_152));
    assert_eq!((of::<i32>(), of::<u32>()), (1 << 30, 3 << 30));
    assert_eq!(of::<I24>(), I24::new(1 << 22).unwrap());
    assert!((of::<f64>() - 0.5).abs() < f64::EPSILON);
}

#[test]
fn a_block_that_is_no_whole_number_of_frames_ends_in_silence() {
    let mut ramp = Ramp::default();
    let mut data = [9.0_f32; 11];
    spread(&mut ramp, &mut data, 4);
    assert!(data[8..].iter().all(|s| s.abs() < f32::EPSILON), "{data:?}");
    assert_eq!(ramp.blocks, [2]);
}

#[test]
fn an_output_is_told_by_its_kind_and_never_by_its_name() {
    let named = || DeviceDescriptionBuilder::new("Ann's headset");
    let told = named()
        .device_type(DeviceType::Headset)
        .interface_type(InterfaceType::Bluetooth);
    assert_eq!(kind_of(&told.build()), "headset bluetooth");
    let told = named().device_type(DeviceType::Speaker);
    assert_eq!(kind_of(&told.build()), "speaker");
    assert_eq!(kind_of(&named().build()), "", "what is not known");
}
