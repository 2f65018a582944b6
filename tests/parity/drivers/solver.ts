/** The solver barrel for the parity suite, and what drives its exports that are not plain. Two-runtime code. */
export * as barrel from '../../../protocol/solver/index';
