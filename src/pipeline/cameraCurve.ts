export { mergeRecords, type CurveRecord } from '../calibration/cameraCurve.js';
