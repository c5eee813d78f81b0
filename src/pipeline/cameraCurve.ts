export { isOfNamedCamera, withRecords, type CurveBin, type CurveRecord } from '../calibration/cameraCurve.js';
