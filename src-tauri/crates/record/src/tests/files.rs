//! The records that another program wrote, `golden/`, and what is the same for each version of them.

use cycle::{Entry, fact::DEED_KINDS, mark::kinds};

use crate::{
    Chain, Opened, Stamp, Verdict, encode, encode_header, encode_protocol, encode_seal,
    fingerprint, open, verify,
};

/// One of them.
pub(crate) struct File {
    pub(crate) bytes: &'static [u8],
    /// Printed by golden/make.py.
    pub(crate) fingerprint: &'static str,
    /// Run milliseconds of its seal.
    pub(crate) sealed: u64,
}

pub(crate) const V1_0: File = File {
    bytes: include_bytes!("../../golden/record-1.0.0.rec.jsonl"),
    fingerprint: "84d60cd8bddc1ce1357d41762fa8f3f10779826622eecb72cb561bfb952c7201",
    sealed: 99_001,
};
pub(crate) const V1_1: File = File {
    bytes: include_bytes!("../../golden/record-1.1.0.rec.jsonl"),
    fingerprint: "eb515d6ed7903f7aa484e3ac87a54a92a26dbb32fc2aa6a8a94b5447e7ec42f2",
    sealed: 63_001,
};
pub(crate) const V1_2: File = File {
    bytes: include_bytes!("../../golden/record-1.2.0.rec.jsonl"),
    fingerprint: "c9473bf6057df324e6bdb15e7f2f99b0417032a10dd837a12ae06c152f7a6775",
    sealed: 64_001,
};
pub(crate) const V1_3: File = File {
    bytes: include_bytes!("../../golden/record-1.3.0.rec.jsonl"),
    fingerprint: "769d5bd40588bc230dd651c8beedfa86960cff7274517700c4b9695b5911adb0",
    sealed: 67_001,
};
pub(crate) const V1_4: File = File {
    bytes: include_bytes!("../../golden/record-1.4.0.rec.jsonl"),
    fingerprint: "0678fd9803ead8dfdccff8270c0f8a7d8e2d8fe7ccfcf3b545481853ef607624",
    sealed: 70_001,
};

pub(crate) const V1_5: File = File {
    bytes: include_bytes!("../../golden/record-1.5.0.rec.jsonl"),
    fingerprint: "5b08857f909e4b28096e59af9a0cb3020e3cb7131e5afde47bd5e793a73e310a",
    sealed: 81_001,
};

pub(crate) const V1_6: File = File {
    bytes: include_bytes!("../../golden/record-1.6.0.rec.jsonl"),
    fingerprint: "d7ef8b3b2381233fe7de126679e5d78eb881744aa3f6982389b4426c01484b8f",
    sealed: 88_001,
};

pub(crate) const V1_7: File = File {
    bytes: include_bytes!("../../golden/record-1.7.0.rec.jsonl"),
    fingerprint: "296d2a716590a07ca87fbec13f7da29e48c0beeecdbb0be6c8aef9f4fc4dc311",
    sealed: 93_001,
};

/// The newest: every kind, with every field.
pub(crate) const V1_8: File = File {
    bytes: include_bytes!("../../golden/record-1.8.0.rec.jsonl"),
    fingerprint: "8110168db7c821b9846b0ed08da189aa0d28a21d339fae8b0a5c7b3a3a636019",
    sealed: 96_001,
};

/// Every kind of the tables, and what the record itself has beside them.
pub(crate) fn all_kinds(beside: &[&'static str]) -> std::collections::BTreeSet<String> {
    let deeds = DEED_KINDS.iter().chain(beside).copied();
    kinds::all().chain(deeds).map(str::to_owned).collect()
}

impl File {
    /// It is read as these entries, undamaged, sealed, and with its fingerprint.
    pub(crate) fn reads_as(&self, entries: &[Entry]) -> Opened {
        let record = open(self.bytes).unwrap();
        assert_eq!(record.damage, []);
        for (found, expected) in record.entries.iter().zip(entries) {
            assert_eq!(found, expected);
        }
        assert_eq!(record.entries.len(), entries.len());
        assert!(record.sealed && record.unknown.is_empty() && !record.newer_minor);
        assert_eq!(fingerprint(&record).to_string(), self.fingerprint);
        let whole = verify(&record, self.fingerprint.parse::<crate::Digest>().unwrap());
        assert_eq!(whole, Verdict::Whole);
        record
    }

    /// These entries, written by us, are its bytes.
    pub(crate) fn is_written_by(&self, entries: &[Entry]) {
        let record = open(self.bytes).unwrap();
        // Unix time of 2026-11-25T13:30:00Z, by `date -u -d 2026-11-25T13:30:00Z +%s`.
        let stamp = |run: u64| Stamp {
            mono_ms: 3_600_000 + run,
            boot: "a-boot".to_owned(),
            proc: 0,
            wall: crate::Wall::new(1_795_613_400_000 + i64::try_from(run).unwrap(), -300).unwrap(),
        };
        let mut chain = Chain::new();
        let mut out = encode_header(&mut chain, &stamp(0), &record.header).unwrap();
        out.extend(encode_protocol(&mut chain, &stamp(0), &record.protocol.unwrap()).unwrap());
        for entry in entries {
            out.extend(encode(&mut chain, &stamp(entry.taken.0), entry).unwrap());
        }
        out.extend(encode_seal(&mut chain, &stamp(self.sealed), 1).unwrap());
        let lines = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        for (found, expected) in out
            .split(|b| *b == b'\n')
            .zip(self.bytes.split(|b| *b == b'\n'))
        {
            assert_eq!(lines(found), lines(expected));
        }
        assert_eq!(out.len(), self.bytes.len());
        assert_eq!(chain.head().to_string(), self.fingerprint);
    }
}
