use super::{LockError, RunLock};
use crate::store::{StoreError, tests::Folder};

#[test]
fn a_second_start_is_told_that_the_folder_is_in_use() {
    let folder = Folder::new();
    let first = RunLock::take(&folder.0).unwrap();
    let second = RunLock::take(&folder.0).unwrap_err();
    assert_eq!(
        second,
        LockError::Held {
            path: folder.0.clone()
        }
    );
    assert!(second.to_string().contains("running already"), "{second}");
    drop(first);
    RunLock::take(&folder.0).unwrap();
}

#[test]
fn a_folder_that_is_not_there_cannot_be_had() {
    let folder = Folder::new();
    let error = RunLock::take(&folder.0.join("gone")).unwrap_err();
    assert!(
        matches!(error, LockError::Store(StoreError::Missing { .. })),
        "{error}"
    );
}
