export { mergeRecords, type CurveBin, type CurveRecord } from '../calibration/cameraCurve.js';
