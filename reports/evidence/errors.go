package evidence

import "errors"

// What can be wrong with a record. Each error that the reader gives is one of these,
// with the name of what it concerns.
var (
	// ErrNotRecord says that a file is something else.
	ErrNotRecord = errors.New("this is not a record")
	// ErrNewer says that a file has a form that this program is too old for.
	ErrNewer = errors.New("the record was written by a newer program")
	// ErrTruncated says that the end of a file is missing.
	ErrTruncated = errors.New("the record is cut short")
	// ErrLayout says that a file's bytes are laid out in a way that no record has.
	ErrLayout = errors.New("the record is not laid out as records are")
	// ErrChanged says that an entry is not the one that the record was made of.
	ErrChanged = errors.New("an entry was changed")
	// ErrRemoved says that something which the record is said to hold is not in it.
	ErrRemoved = errors.New("something was removed")
	// ErrAdded says that there is something which the record is not said to hold.
	ErrAdded = errors.New("something was added")
	// ErrReordered says that all is there, but not where it belongs.
	ErrReordered = errors.New("the order was changed")
	// ErrSwapped says that a trace is not that of its trial.
	ErrSwapped = errors.New("a trace is not the one of its trial")
	// ErrDuplicate says that two entries have one name.
	ErrDuplicate = errors.New("two entries have the same name")
	// ErrName says that an entry has a name that none has in a record.
	ErrName = errors.New("an entry has a name that has no place in a record")
	// ErrBomb says that an entry is compressed, or larger than any has reason to be.
	ErrBomb = errors.New("an entry would take up far more room than it should")
	// ErrForm says that an entry is not written as records are, or holds what this
	// program does not know.
	ErrForm = errors.New("an entry is not in the form of a record")
	// ErrContradiction says that two parts of a record do not agree.
	ErrContradiction = errors.New("the record contradicts itself")
	// ErrUnsigned says that a record has no signature.
	ErrUnsigned = errors.New("the record is not signed")
	// ErrOtherKey says that a record was signed by another key than the one given.
	ErrOtherKey = errors.New("the record was signed with another key")
	// ErrSignature says that the signature is not one of this record.
	ErrSignature = errors.New("the signature is not that of this record")
	// ErrTooLarge says that a run is too much for one record.
	ErrTooLarge = errors.New("the run is too large for one record")
	// ErrNoTrial says that a record has no such trial.
	ErrNoTrial = errors.New("there is no such trial in the record")
)
