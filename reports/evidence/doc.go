// Package evidence keeps one run, with its traces, as a record: one file that anybody
// can check without the program that wrote it.
//
// # What is in a file
//
// A record is a zip file (APPNOTE.TXT 6.3, nothing compressed, the long forms of that
// format only beyond 65 534 entries or 4 GiB) with these entries in this order:
//
//	head.json           which run, what came of it, and the digests of all that follows
//	head.json.minisig   the signature of head.json; not there in an unsigned record
//	SHA256SUMS          a line "DIGEST  NAME" for each entry that follows, in their order
//	run.json            the run without its trials, with the texts of all files it rests on
//	trials/001-normal-cycle/0001.json      a trial of the first scenario
//	trials/001-normal-cycle/0001.parquet   what was seen in it, where it was kept
//	...
//
// The JSON is canonical (RFC 8785). "root" in head.json is the tree hash of RFC 9162
// over the lines of SHA256SUMS, each without its line end; "leaves" is their number;
// "sums" is the SHA-256 of SHA256SUMS. The signature is one of minisign. So
//
//	sha256sum -c SHA256SUMS
//	minisign -Vm head.json -p KEY.pub
//	grep "$(sha256sum SHA256SUMS | cut -c 1-64)" head.json
//
// check a record with ordinary tools. The last one matters as much as the others: whoever
// changes an entry can write its line in SHA256SUMS anew, but not "sums" in what is signed.
//
// An excerpt shows one trial without the rest. It has no SHA256SUMS but, at its end,
// proof.json: for each of run.json and the trial's entries the number of its leaf,
// counted from 0, and the inclusion path of RFC 9162 to "root".
//
// # What is read
//
// The reader takes a file for hostile. It works out from the names, sizes and digests
// what every byte of the file has to be, and takes no other. It trusts no size
// before the bytes are there, never expands anything, and holds no more than one
// trial and the list of names in memory.
package evidence
