/** A library that is held against the filter; it brings no types of its own. */

declare module 'kalman-filter' {
  export class State {
    constructor(state: { mean: number[][]; covariance: number[][]; index: number })
    readonly mean: number[][]
    readonly covariance: number[][]
  }
  export class KalmanFilter {
    constructor(model: {
      observation: { dimension: number; stateProjection: number[][]; covariance: number[][] }
      dynamic: {
        dimension: number
        transition: number[][]
        covariance: number[][]
        init: { mean: number[][]; covariance: number[][]; index: number }
      }
    })
    predict(from: { previousCorrected: State }): State
    correct(with_: { predicted: State; observation: number[][] }): State
  }
}
