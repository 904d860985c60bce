/** What the page uses of the desk’s answers; the whole of them is what the commands print with --json-schema. */

export interface WaterAnswer {
  readonly level: string
  readonly sentence: string
  readonly criteria: readonly {
    readonly name: string
    readonly figure?: number
    readonly unit: string
    readonly level: 'good' | 'watch' | 'treat' | 'refuse' | 'unknown'
    readonly meaning: string
    readonly remedies: readonly string[]
  }[]
  readonly acids: readonly {
    readonly acid: string
    readonly mlPer1000L: number
    readonly brings: { readonly element: string; readonly mgPerL: number }
    readonly isWithinBand: boolean
  }[]
  readonly notMeasured: readonly string[]
  readonly doubts: readonly string[]
}

export interface RecipeAnswer {
  readonly volumeL: number
  readonly salts: readonly {
    readonly name: string
    readonly gPerL: number
    readonly g: number
    readonly isPinned: boolean
  }[]
  readonly acid?: { readonly name: string; readonly ml: number }
  readonly elements: readonly {
    readonly element: string
    readonly waterMgPerL: number
    readonly totalMgPerL: number
    readonly lowMgPerL: number
    readonly aimMgPerL: number
    readonly highMgPerL: number
    readonly place: 'low' | 'in-band' | 'high'
  }[]
  readonly unmet: readonly { readonly element: string; readonly why: string }[]
  readonly settled: { readonly ph: number; readonly alkalinityMeqPerL: number; readonly conductivityDsPerM: number }
  readonly notes: readonly string[]
}

export interface TankCard {
  readonly name: string
  readonly factor: number
  readonly tankL: number
  readonly salts: readonly { readonly salt: string; readonly grams: number; readonly how: string }[]
  readonly mlPerLMakeUp: number
  readonly injector: string
  readonly dilutedDsPerM: number
  readonly dilutedLowDsPerM: number
  readonly dilutedHighDsPerM: number
  readonly cautions: readonly string[]
}

export type StocksAnswer =
  | {
      readonly kind: 'stocks'
      readonly crop: string
      readonly tanks: readonly TankCard[]
      readonly acid?: {
        readonly name: string
        readonly strengthEqPerL: number
        readonly tankL: number
        readonly bottleMl: number
        readonly steps: readonly string[]
        readonly cautions: readonly string[]
      }
      readonly notes: readonly string[]
      readonly cautions: readonly string[]
    }
  | {
      readonly kind: 'refused'
      readonly refusals: readonly { readonly tank: string; readonly why: string; readonly nextStep: string }[]
    }

export interface AmendOption {
  readonly way: 'amend-only' | 'renew-and-amend' | 'start-afresh'
  readonly amounts: readonly { readonly name: string; readonly measured: number; readonly unit: string }[]
  readonly waterL: number
  readonly dischargeL: number
  readonly outOfBand: readonly { readonly element: string; readonly why: string }[]
}

export type AmendAnswer =
  | { readonly kind: 'held'; readonly why: string; readonly explanations: readonly string[] }
  | {
      readonly kind: 'amendment'
      readonly advised: AmendOption['way']
      readonly advice: string
      readonly options: readonly AmendOption[]
      readonly notes: readonly {
        readonly element: string
        readonly usedMgPerL: number
        readonly endMgPerL: number
        readonly lowMgPerL: number
        readonly aimMgPerL: number
        readonly highMgPerL: number
        readonly text: string
      }[]
      readonly cautions: readonly string[]
    }
